"""The scheduling problem and its answer as plain, checked data.

All times are whole minutes from an origin that the caller chooses, intervals are half-open.
Everything here refuses bad values when it is made, so that the rest of the core may trust it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from scheduling.core.values import (
    MAX_HORIZON_MINUTES,
    ProblemError,
    Window,
    amount,
    check_windows,
    name,
    whole,
)

STAY = "stay"
MOST_AT_ONCE = 1000
"""People or lamps on one operation."""


@dataclass(frozen=True, slots=True)
class Mode:
    """One way to do an operation: minutes of work and infrared lamps used all the while."""

    dur: int
    lamps: int = 0

    def __post_init__(self) -> None:
        whole(self.dur, "dur")
        whole(self.lamps, "lamps", most=MOST_AT_ONCE)


@dataclass(frozen=True, slots=True)
class Operation:
    """One step of a job; ``lag_min`` and ``lag_max`` are minutes after the step before ends."""

    id: str
    spot_cap: str
    modes: tuple[Mode, ...]
    crew: int = 0
    skill: str | None = None
    name: str = ""
    pausable: bool = False
    same_spot: bool = False
    lag_min: int = 0
    lag_max: int | None = None
    open_hours: bool = False

    def __post_init__(self) -> None:
        name(self.id, "id")
        name(self.spot_cap, "spot_cap")
        whole(self.crew, "crew", most=MOST_AT_ONCE)
        if not self.modes:
            raise ProblemError("modes", [], "give at least one mode")
        if self.crew and not self.skill:
            raise ProblemError("skill", self.skill, "an attended operation names a skill")
        if not self.crew and self.skill is not None:
            raise ProblemError("skill", self.skill, "must be null where crew is 0")
        whole(self.lag_min, "lag_min")
        if self.lag_max is not None and whole(self.lag_max, "lag_max") < self.lag_min:
            raise ProblemError("lag_max", self.lag_max, f"at least lag_min ({self.lag_min})")

    @property
    def attended(self) -> bool:
        """Whether somebody works on it; an unattended operation runs day and night."""
        return self.crew > 0


@dataclass(frozen=True, slots=True)
class Job:
    """A vehicle's chain of operations; ``due`` may lie before the origin (already late).

    ``told`` is the pick-up minute the customer was told, if one was; it may lie there as well.
    """

    id: str
    ops: tuple[Operation, ...]
    release: int = 0
    due: int = 0
    weight: float = 1
    kind: str = ""
    told: int | None = None

    def __post_init__(self) -> None:
        name(self.id, "id")
        whole(self.release, "release")
        whole(self.due, "due", least=None)
        if self.told is not None:
            whole(self.told, "told", least=None)
        amount(self.weight, "weight")
        if not self.ops:
            raise ProblemError("ops", [], "give at least one operation")


@dataclass(frozen=True, slots=True)
class Spot:
    """A place for vehicles: a bay with capabilities, a parking spot, or both."""

    id: str
    caps: frozenset[str] = frozenset()
    capacity: int = 1
    closures: tuple[Window, ...] = ()
    park: bool = False

    def __post_init__(self) -> None:
        name(self.id, "id")
        if self.id == STAY:
            raise ProblemError("id", self.id, f"{STAY!r} means that a vehicle does not move")
        whole(self.capacity, "capacity", least=1)
        check_windows(self.closures, "closures")


@dataclass(frozen=True, slots=True)
class CrewMember:
    """A person with skills who works in the windows of the named calendar."""

    id: str
    calendar: str
    skills: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        name(self.id, "id")
        name(self.calendar, "calendar")


@dataclass(frozen=True, slots=True)
class Objective:
    """Weights of the objective; see :func:`scheduling.core.check.score` for the formula.

    ``change`` is the price of one job that does not end when its customer was told, or that is
    not where it was preferred; see :func:`scheduling.core.changes.changed`.
    """

    tardiness: float = 20
    flow: float = 1
    move: float = 2
    per: int = 15
    makespan: float = 0
    change: float = 0

    def __post_init__(self) -> None:
        for key in ("tardiness", "flow", "move", "makespan", "change"):
            amount(getattr(self, key), key)
        whole(self.per, "per", least=1)


@dataclass(frozen=True, slots=True)
class Frozen:
    """What must be kept of one operation's placement; ``None`` leaves it free."""

    start: int | None = None
    end: int | None = None
    spot: str | None = None
    crew: tuple[str, ...] | None = None

    def __post_init__(self) -> None:
        if self.start is not None:
            whole(self.start, "start")
        if self.end is not None and whole(self.end, "end") < (self.start or 0):
            raise ProblemError("end", self.end, f"must not be before the start ({self.start})")


@dataclass(frozen=True, slots=True)
class Week:
    """A whole scheduling problem; the name says what it usually spans, not a limit.

    ``frozen`` must be kept. ``preferred`` says in the same words where operations stand now: it
    is tried first, and a job that does not keep all of it counts as changed.
    """

    grid: int
    horizon: int
    spots: tuple[Spot, ...]
    jobs: tuple[Job, ...]
    crew: tuple[CrewMember, ...] = ()
    calendars: Mapping[str, tuple[Window, ...]] = field(default_factory=dict)
    opening: tuple[Window, ...] = ()
    lamps: int = 0
    objective: Objective = field(default_factory=Objective)
    frozen: Mapping[str, Frozen] = field(default_factory=dict)
    name: str = ""
    seed: int = 0
    preferred: Mapping[str, Frozen] = field(default_factory=dict)

    def __post_init__(self) -> None:
        whole(self.grid, "grid", least=1)
        if 60 % self.grid:
            raise ProblemError("grid", self.grid, "give a divisor of 60")
        if whole(self.horizon, "horizon", least=1) > MAX_HORIZON_MINUTES:
            raise ProblemError("horizon", self.horizon, f"at most {MAX_HORIZON_MINUTES} minutes")
        whole(self.lamps, "lamps")
        for key, windows in self.calendars.items():
            check_windows(windows, f"calendars.{key}")
        check_windows(self.opening, "opening")
        _check_identifiers(self)
        _check_references(self)
        _check_grid(self)

    @property
    def operations(self) -> dict[str, Operation]:
        """Every operation of every job by identifier."""
        return {op.id: op for job in self.jobs for op in job.ops}


class PlanStatus(StrEnum):
    """How an answer is to be read."""

    OPTIMAL = "optimal"
    FEASIBLE = "feasible"
    IMPOSSIBLE = "impossible"
    NONE_FOUND = "none_found"


@dataclass(frozen=True, slots=True)
class Placement:
    """Where and when one operation is done and by whom; ``pieces`` are stretches of work."""

    start: int
    end: int
    spot: str
    crew: tuple[str, ...] = ()
    mode: int = 0
    pieces: tuple[Window, ...] = ()


@dataclass(frozen=True, slots=True)
class Parts:
    """What the objective is made of: weighted late minutes, minutes since release, moves.

    ``changes`` counts the jobs that end later than told or are not where they were preferred.
    """

    weighted_tardiness_min: float = 0
    flow_min: int = 0
    moves: int = 0
    makespan_min: int = 0
    changes: int = 0


@dataclass(frozen=True, slots=True)
class Plan:
    """An answer to a week; ``waits`` has one entry for each gap of each job.

    ``said_gap`` is the gap that a plan file states, to be compared with :attr:`gap`.
    """

    status: PlanStatus
    ops: Mapping[str, Placement] = field(default_factory=dict)
    waits: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    objective: float | None = None
    bound: float | None = None
    seconds: float = 0.0
    parts: Parts = field(default_factory=Parts)
    reasons: tuple[str, ...] = ()
    said_gap: float | None = field(default=None, compare=False)

    @property
    def gap(self) -> float | None:
        """Share of the objective that is not proven to be needed (0 is proven optimal)."""
        if self.objective is None or self.bound is None:
            return None
        if self.objective <= 0:
            return 0.0
        return max(0.0, (self.objective - self.bound) / self.objective)


def _unique(ids: Iterable[tuple[str, str]]) -> None:
    seen: set[str] = set()
    for path, value in ids:
        if value in seen:
            raise ProblemError(path, value, "identifiers must be unique")
        seen.add(value)


def _check_identifiers(week: Week) -> None:
    _unique((f"spots[{i}].id", spot.id) for i, spot in enumerate(week.spots))
    _unique((f"crew[{i}].id", person.id) for i, person in enumerate(week.crew))
    _unique((f"jobs[{i}].id", job.id) for i, job in enumerate(week.jobs))
    _unique(
        (f"jobs[{i}].ops[{k}].id", op.id)
        for i, job in enumerate(week.jobs)
        for k, op in enumerate(job.ops)
    )


def _check_references(week: Week) -> None:
    for i, person in enumerate(week.crew):
        if person.calendar not in week.calendars:
            known = ", ".join(sorted(week.calendars)) or "none is given"
            raise ProblemError(f"crew[{i}].calendar", person.calendar, f"name a calendar: {known}")
    ops = week.operations
    spots = {spot.id for spot in week.spots}
    people = {person.id for person in week.crew}
    for path, key, kept in _kept(week):
        if key not in ops:
            raise ProblemError(path, key, "name an operation of this week")
        if kept.spot is not None and kept.spot not in spots:
            raise ProblemError(f"{path}.spot", kept.spot, "name a spot of this week")
        for i, person_id in enumerate(kept.crew or ()):
            if person_id not in people:
                raise ProblemError(f"{path}.crew[{i}]", person_id, "name one of this week's crew")
        if kept.crew is not None:
            _unique((f"{path}.crew[{i}]", one) for i, one in enumerate(kept.crew))


def _kept(week: Week) -> Iterable[tuple[str, str, Frozen]]:
    """Yield path, operation and placement of everything frozen or preferred."""
    for word in ("frozen", "preferred"):
        for key, kept in getattr(week, word).items():
            yield f"{word}.{key}", key, kept


def _times(week: Week) -> Iterable[tuple[str, int | None]]:
    yield "horizon", week.horizon
    window_sets = [(f"calendars.{key}", windows) for key, windows in week.calendars.items()]
    window_sets.append(("opening", week.opening))
    window_sets += [(f"spots[{i}].closures", s.closures) for i, s in enumerate(week.spots)]
    for path, windows in window_sets:
        for i, (start, end) in enumerate(windows):
            yield f"{path}[{i}][0]", start
            yield f"{path}[{i}][1]", end
    for i, job in enumerate(week.jobs):
        yield f"jobs[{i}].release", job.release
        yield f"jobs[{i}].due", job.due
        yield f"jobs[{i}].told", job.told
        for k, op in enumerate(job.ops):
            yield f"jobs[{i}].ops[{k}].lag_min", op.lag_min
            yield f"jobs[{i}].ops[{k}].lag_max", op.lag_max
            for m, mode in enumerate(op.modes):
                yield f"jobs[{i}].ops[{k}].modes[{m}].dur", mode.dur
    for path, _, kept in _kept(week):
        yield f"{path}.start", kept.start
        yield f"{path}.end", kept.end


def _check_grid(week: Week) -> None:
    for path, value in _times(week):
        if value is not None and value % week.grid:
            raise ProblemError(path, value, f"give a multiple of the grid ({week.grid} minutes)")
