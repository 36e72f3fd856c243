"""Independent validator of plans against the rules of their week.

Written against the rules and nothing else: it shares no code with the solvers, adds up plain
intervals, and gives a reason for each violation.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from enum import StrEnum
from itertools import pairwise

from scheduling.core.problem import (
    STAY,
    Frozen,
    Job,
    Mode,
    Operation,
    Parts,
    Placement,
    Plan,
    Spot,
    Week,
)
from scheduling.core.values import Window
from scheduling.core.worktime import common, join

TOLERANCE = 1e-6
"""Share by which a stated number may differ: files are written with six decimals."""


class Rule(StrEnum):
    """The rule that is broken."""

    SHAPE = "shape"
    GRID = "grid"
    DURATION = "duration"
    WORK = "work"
    CREW = "crew"
    SPOT = "spot"
    LAG = "lag"
    RELEASE = "release"
    HORIZON = "horizon"
    OPENING = "opening"
    CAPACITY = "capacity"
    FROZEN = "frozen"
    OBJECTIVE = "objective"


@dataclass(frozen=True, slots=True)
class Violation:
    """One broken rule: what broke it and a sentence that says how."""

    rule: Rule
    subject: str
    text: str


@dataclass(frozen=True, slots=True)
class Use:
    """Units of a resource used for ``[start, end)`` by somebody."""

    resource: str
    start: int
    end: int
    by: str
    units: int = 1


def score(week: Week, plan: Plan) -> tuple[float, Parts]:
    """Return the objective of a complete plan and what it is made of.

    ``(tardiness * sum(weight * late) + flow * sum(end - release) + makespan * latest end) / per
    + move * moves + change * changes``, minutes throughout; a job's end is the end of its last
    operation. A job is a change if it ends later than its customer was told, or if a preferred
    placement of its operations is not kept.
    """
    late: float = 0
    flow = moves = latest = changes = 0
    for job in week.jobs:
        end = plan.ops[job.ops[-1].id].end
        late += job.weight * max(0, end - job.due)
        flow += end - job.release
        latest = max(latest, end)
        moves += job_moves([plan.ops[op.id].spot for op in job.ops], plan.waits.get(job.id, ()))
        changes += _is_change(week, plan, job, end)
    goal = week.objective
    minutes = goal.tardiness * late + goal.flow * flow + goal.makespan * latest
    value = minutes / goal.per + goal.move * moves + goal.change * changes
    return value, Parts(late, flow, moves, latest if goal.makespan else 0, changes)


def _is_change(week: Week, plan: Plan, job: Job, end: int) -> bool:
    if job.told is not None and end > job.told:
        return True
    return any(
        _differences(week.preferred[op.id], plan.ops[op.id])
        for op in job.ops
        if op.id in week.preferred
    )


def _differences(kept: Frozen, placed: Placement) -> list[tuple[str, object, object]]:
    """Return what of a placement is not as it was to be kept: key, wanted, got."""
    found: list[tuple[str, object, object]] = []
    for key in ("start", "end", "spot"):
        wanted, got = getattr(kept, key), getattr(placed, key)
        if wanted is not None and wanted != got:
            found.append((key, wanted, got))
    if kept.crew is not None and set(kept.crew) != set(placed.crew):
        found.append(("crew", list(kept.crew), list(placed.crew)))
    return found


def job_moves(spots: Sequence[str], waits: Sequence[str]) -> int:
    """Return how often a vehicle changes its spot, given where it waits between operations."""
    stops = [spots[0]]
    for spot, wait in zip(spots[1:], waits, strict=True):
        if wait != STAY:
            stops.append(wait)
        stops.append(spot)
    return sum(a != b for a, b in pairwise(stops))


def over_capacity(uses: Iterable[Use], capacity: Mapping[str, int]) -> list[Violation]:
    """Return the moments at which more of a resource is used than there is."""
    by_resource: dict[str, list[Use]] = {}
    for use in uses:
        if use.end > use.start:
            by_resource.setdefault(use.resource, []).append(use)
    found = []
    for resource, held in sorted(by_resource.items()):
        steps = sorted(
            [(use.start, 1, use.units, use.by) for use in held]
            + [(use.end, 0, -use.units, use.by) for use in held]
        )
        level = 0
        for minute, _, units, by in steps:
            level += units
            if units > 0 and level > capacity[resource]:
                text = f"{level} in use at minute {minute}, there is room for {capacity[resource]}"
                found.append(Violation(Rule.CAPACITY, resource, f"{text} (with {by})"))
    return found


def check_operation(
    op: Operation,
    placed: Placement,
    calendars: Sequence[Sequence[Window]],
    opening: Sequence[Window],
    minutes: int,
) -> list[Violation]:
    """Return what is wrong with the time of one operation by itself.

    Parameters
    ----------
    calendars : sequence of sequences of (int, int)
        Working windows of each person on it.
    opening : sequence of (int, int)
        Opening hours.
    minutes : int
        Duration of its mode.
    """
    start, end = placed.start, placed.end
    broken: list[tuple[Rule, str]] = []
    if op.open_hours and not any(a <= start and end <= b for a, b in join(opening)):
        broken.append((Rule.OPENING, f"[{start}, {end}) is not inside one opening"))
    if op.attended:
        broken += _check_work(op, placed, calendars, minutes)
    elif end - start != minutes:
        broken.append((Rule.DURATION, f"lasts {end - start} minutes, not {minutes}"))
    elif placed.pieces:
        broken.append((Rule.WORK, "nobody works on it, so it has no pieces"))
    return [Violation(rule, op.id, text) for rule, text in broken]


def _check_work(
    op: Operation, placed: Placement, calendars: Sequence[Sequence[Window]], minutes: int
) -> list[tuple[Rule, str]]:
    start, end = placed.start, placed.end
    found: list[tuple[Rule, str]] = []
    pieces = join((a, b) for a, b in placed.pieces if b > a)
    work = join(calendars[0]) if calendars else []
    for windows in calendars[1:]:
        work = common(work, join(windows))
    worked = common(work, [(start, end)]) if end > start else []
    if sum(b - a for a, b in worked) != minutes:
        amount = sum(b - a for a, b in worked)
        found.append((Rule.DURATION, f"{amount} minutes of work, not {minutes}"))
    if worked and (worked[0][0] != start or worked[-1][1] != end):
        found.append((Rule.WORK, f"nobody works at an end of [{start}, {end})"))
    if not op.pausable and end - start != minutes:
        found.append((Rule.WORK, f"may not pause, but lasts {end - start} minutes"))
    if any(b <= a for a, b in placed.pieces) or any(
        after[0] < before[1] for before, after in pairwise(placed.pieces)
    ):
        found.append((Rule.WORK, f"pieces {list(placed.pieces)} run backwards or overlap"))
    elif pieces != worked:
        found.append((Rule.WORK, f"pieces {pieces} are not the work done, {worked}"))
    return found


def check_plan(week: Week, plan: Plan) -> list[Violation]:
    """Return every rule of the week that the plan breaks; an empty list is a valid plan."""
    found = _shape(week, plan)
    if found:
        return found
    spots = {spot.id: spot for spot in week.spots}
    for job in week.jobs:
        found += _check_job(week, plan, job, spots)
    found += _check_capacity(week, plan)
    found += _check_frozen(week, plan)
    if plan.objective is not None:
        value, parts = score(week, plan)
        if abs(value - plan.objective) > TOLERANCE * max(1.0, abs(value)):
            text = f"says {plan.objective}, but is {value}"
            found.append(Violation(Rule.OBJECTIVE, "objective", text))
        if plan.bound is not None and plan.bound > value + TOLERANCE * max(1.0, abs(value)):
            text = f"bound {plan.bound} is above the objective {value}"
            found.append(Violation(Rule.OBJECTIVE, "bound", text))
        found += _check_parts(week, plan.parts, parts)
    return found


def _check_parts(week: Week, said: Parts, parts: Parts) -> Iterable[Violation]:
    """Yield each part of the objective that is not what the plan says."""
    for one in fields(Parts):
        wanted, got = getattr(parts, one.name), getattr(said, one.name)
        counted = one.name != "makespan_min" or week.objective.makespan > 0
        if counted and abs(wanted - got) > TOLERANCE * max(1.0, abs(wanted)):
            text = f"says {one.name} {got}, but it is {wanted}"
            yield Violation(Rule.OBJECTIVE, "parts", text)


def _shape(week: Week, plan: Plan) -> list[Violation]:
    ops = week.operations
    broken = [
        (op_id, "is not an operation of this week") for op_id in sorted(set(plan.ops) - set(ops))
    ]
    for op_id, op in ops.items():
        placed = plan.ops.get(op_id)
        if placed is None:
            broken.append((op_id, "is not placed"))
        else:
            broken += ((op_id, text) for text in _unknown(week, op, placed))
    jobs = {job.id for job in week.jobs}
    broken += ((job_id, "is not a job of this week") for job_id in sorted(set(plan.waits) - jobs))
    parks = {spot.id for spot in week.spots if spot.park}
    for job in week.jobs:
        waits = plan.waits.get(job.id, ())
        if len(waits) != len(job.ops) - 1:
            broken.append((job.id, f"has {len(waits)} waits for {len(job.ops) - 1} gaps"))
        broken += (
            (job.id, f"waits at {wait!r}, no parking spot")
            for wait in waits
            if wait != STAY and wait not in parks
        )
    return [Violation(Rule.SHAPE, subject, text) for subject, text in broken]


def _unknown(week: Week, op: Operation, placed: Placement) -> list[str]:
    people = {one.id for one in week.crew}
    texts = [f"names an unknown person {one!r}" for one in placed.crew if one not in people]
    if placed.spot not in {spot.id for spot in week.spots}:
        texts.append(f"stands at an unknown spot {placed.spot!r}")
    if not 0 <= placed.mode < len(op.modes):
        texts.append(f"has no mode {placed.mode}")
    return texts


def _check_job(week: Week, plan: Plan, job: Job, spots: Mapping[str, Spot]) -> list[Violation]:
    found = []
    people = {one.id: one for one in week.crew}
    for op in job.ops:
        placed = plan.ops[op.id]
        mode: Mode = op.modes[placed.mode]
        if any(minute % week.grid for minute in (placed.start, placed.end)):
            found.append(Violation(Rule.GRID, op.id, "starts or ends off the grid"))
        if placed.start < job.release:
            text = f"starts at {placed.start}, released at {job.release}"
            found.append(Violation(Rule.RELEASE, op.id, text))
        if placed.end > week.horizon or placed.end < placed.start:
            found.append(Violation(Rule.HORIZON, op.id, f"ends at {placed.end}"))
        if op.spot_cap not in spots[placed.spot].caps:
            text = f"{placed.spot} cannot do {op.spot_cap!r}"
            found.append(Violation(Rule.SPOT, op.id, text))
        if len(placed.crew) != op.crew or len(set(placed.crew)) != op.crew:
            text = f"needs {op.crew} people, has {list(placed.crew)}"
            found.append(Violation(Rule.CREW, op.id, text))
        found += [
            Violation(Rule.CREW, op.id, f"{person} lacks {op.skill!r}")
            for person in placed.crew
            if op.skill not in people[person].skills
        ]
        calendars = [week.calendars[people[person].calendar] for person in placed.crew]
        found += check_operation(op, placed, calendars, week.opening, mode.dur)
    return found + check_gaps(
        job.ops,
        [plan.ops[op.id] for op in job.ops],
        plan.waits.get(job.id, ()),
        spots,
        week.opening,
    )


def check_gaps(
    ops: Sequence[Operation],
    placed: Sequence[Placement],
    waits: Sequence[str],
    spots: Mapping[str, Spot],
    opening: Sequence[Window],
) -> list[Violation]:
    """Return what is wrong between the operations of one job: lags, spots, moves to parking."""
    found = []

    def move(op_id: str, left: str, entered: str, minute: int) -> None:
        if left == entered or not spots[entered].park:
            return
        if not any(a <= minute <= b for a, b in opening):
            text = f"moves to {entered} at minute {minute}, outside opening hours"
            found.append(Violation(Rule.OPENING, op_id, text))

    for k, (op, wait) in enumerate(zip(ops[1:], waits, strict=True), start=1):
        before, here = placed[k - 1], placed[k]
        lag = here.start - before.end
        if lag < op.lag_min or (op.lag_max is not None and lag > op.lag_max):
            text = f"starts {lag} minutes after {ops[k - 1].id}, not {op.lag_min} to {op.lag_max}"
            found.append(Violation(Rule.LAG, op.id, text))
        if op.same_spot and (wait not in (STAY, before.spot) or here.spot != before.spot):
            found.append(Violation(Rule.SPOT, op.id, f"may not leave {before.spot}"))
        stop = before.spot
        if wait != STAY:
            move(ops[k - 1].id, stop, wait, before.end)
            stop = wait
        move(op.id, stop, here.spot, here.start)
    return found


def stays(job_id: str, placed: Sequence[Placement], waits: Sequence[str]) -> list[Use]:
    """Return where the vehicle stands from its first start to its last end."""
    uses = [Use(placed[0].spot, placed[0].start, placed[0].end, job_id)]
    for before, here, wait in zip(placed, placed[1:], waits, strict=False):
        stop = before.spot if wait == STAY else wait
        uses.append(Use(stop, before.end, here.start, job_id))
        uses.append(Use(here.spot, here.start, here.end, job_id))
    return uses


def _check_capacity(week: Week, plan: Plan) -> list[Violation]:
    uses: list[Use] = []
    capacity = {f"spot {spot.id}": spot.capacity for spot in week.spots}
    capacity |= {f"crew {one.id}": 1 for one in week.crew}
    capacity["lamps"] = week.lamps
    for spot in week.spots:
        for start, end in spot.closures:
            uses.append(Use(f"spot {spot.id}", start, end, "its closure", spot.capacity))
    for job in week.jobs:
        placed = [plan.ops[op.id] for op in job.ops]
        uses += (
            Use(f"spot {use.resource}", use.start, use.end, use.by)
            for use in stays(job.id, placed, plan.waits.get(job.id, ()))
        )
        for op, here in zip(job.ops, placed, strict=True):
            uses += [Use(f"crew {one}", here.start, here.end, op.id) for one in here.crew]
            lamps = op.modes[here.mode].lamps
            uses.append(Use("lamps", here.start, here.end, op.id, lamps))
    return over_capacity(uses, capacity)


def _check_frozen(week: Week, plan: Plan) -> list[Violation]:
    found = []
    for op_id, kept in week.frozen.items():
        for key, wanted, got in _differences(kept, plan.ops[op_id]):
            text = f"{key} is frozen at {wanted!r}, but is {got!r}"
            found.append(Violation(Rule.FROZEN, op_id, text))
    return found
