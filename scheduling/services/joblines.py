"""One vehicle of the calendar as a chain of the core, with where it is planned to be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise
from typing import Any, Final

from scheduling.core.problem import STAY, Frozen, Mode, Placement
from scheduling.core.problem import Job as Chain
from scheduling.core.problem import Operation as Step
from scheduling.core.values import Window
from scheduling.core.worktime import common, join
from scheduling.models import Cure, Hold, ResourceKind
from scheduling.services.chains import step_of
from scheduling.services.horizon import GRID_MINUTES, Horizon, key_of
from shop.models import Job, JobState, Operation, OperationState

STAND: Final = "stand"
"""Capability of every place: a vehicle can stand there."""
_PLACES: Final = (ResourceKind.BAY, ResourceKind.PARKING)
_BEGUN: Final = (OperationState.RUNNING, OperationState.PAUSED)


class NoChain(Exception):
    """The holds of a vehicle cannot be read as one chain."""


@dataclass(frozen=True)
class Line:
    """A vehicle in the core: its chain, where it is planned, and what must stay.

    ``rows`` are its operations that are not done; ``seen`` says what was read, so that a change
    since then can be noticed.
    """

    id: str
    job: Job
    chain: Chain
    placed: Mapping[str, Placement]
    waits: tuple[str, ...]
    frozen: Mapping[str, Frozen]
    rows: tuple[Operation, ...]
    seen: Mapping[str, Any]

    @property
    def here(self) -> bool:
        """Whether the vehicle has come."""
        return self.job.state != JobState.BOOKED


def line_of(
    job: Job, holds: Sequence[Hold], horizon: Horizon, now: int, cures: Mapping[int, Cure]
) -> Line:
    """Return a vehicle as a line.

    Parameters
    ----------
    holds : sequence of Hold
        All holds of the job, past ones too, in order of time.
    now : int
        Present minute on the grid.
    cures : mapping of int to Cure
        Running cures by operation.

    Raises
    ------
    NoChain
        It cannot be read so.
    """
    return _Reading(job, holds, horizon, now, cures).line()


def inside(windows: Sequence[Window]) -> list[Window]:
    """Return windows of work cut to whole slots: nobody is asked to work a minute more."""
    grid = GRID_MINUTES
    cut_down = [(-(-start // grid) * grid, end // grid * grid) for start, end in windows]
    return [(start, end) for start, end in cut_down if end > start]


def slack_of(key: str) -> str:
    """Name of a job's time in hand, and of who works through it."""
    return f"{key}.slack"


def job_key(job_id: int) -> str:
    """Identifier of a job in the core."""
    return f"j{job_id}"


class _Reading:
    def __init__(
        self,
        job: Job,
        holds: Sequence[Hold],
        horizon: Horizon,
        now: int,
        cures: Mapping[int, Cure],
    ) -> None:
        self.job, self.holds, self.horizon, self.now = job, holds, horizon, now
        self.cures = cures
        self.id = job_key(job.pk)
        self.here = job.state != JobState.BOOKED
        self.rows = [row for row in job.operations.all() if row.state != OperationState.DONE]
        self.stays = [
            (key_of(hold.resource), self._minute(hold.start), self._minute(hold.end))
            for hold in holds
            if hold.resource.kind in _PLACES
        ]
        if not self.rows or not self.stays or any(row.planned_start is None for row in self.rows):
            raise NoChain

    def _minute(self, at: datetime) -> int:
        return -(-self.horizon.minute(at) // GRID_MINUTES) * GRID_MINUTES

    def line(self) -> Line:
        steps: list[Step] = [self._stand("in")]
        begin = self._begin()
        placed = [Placement(begin, begin, self._stands(begin))]
        before = self._done_before()
        for row in self.rows:
            step, place = self._row(row)
            if len(steps) == 1:
                step = self._first(step, row, before)
            steps.append(step)
            placed.append(place)
        until = self.stays[-1][2]
        slack = self._slack(placed[-1].end, until)
        if slack is not None:
            steps.append(slack[0])
            placed.append(slack[1])
        steps.append(self._stand("out"))
        placed.append(Placement(until, until, self.stays[-1][0]))
        frozen = {}
        if self.here:
            frozen[steps[0].id] = Frozen(start=begin, spot=placed[0].spot)
        elif begin >= self.now:
            frozen[steps[0].id] = Frozen(start=begin)
        promised = self.job.promised_at
        told = None if promised is None else self.horizon.minute(promised)
        told = None if told is None else told // GRID_MINUTES * GRID_MINUTES
        chain = Chain(
            self.id,
            tuple(steps),
            release=max(begin, self.now),
            due=until if told is None else told,
            told=told,
        )
        return Line(
            id=self.id,
            job=self.job,
            chain=chain,
            placed={step.id: one for step, one in zip(steps, placed, strict=True)},
            waits=self._waits(placed),
            frozen=frozen,
            rows=tuple(self.rows),
            seen=self._seen(),
        )

    def _stand(self, name: str) -> Step:
        return Step(f"{self.id}.{name}", STAND, (Mode(0),), open_hours=not self._inside(name))

    def _slack(self, ready: int, until: int) -> tuple[Step, Placement] | None:
        """The time in hand between planned end and promise, which runs while the shop is open.

        Somebody who does nothing else works through it, so that a moved vehicle keeps it.
        """
        opening = join(inside(self.horizon.resources.opening))
        pieces = common(opening, [(ready, until)]) if until > ready else []
        if not pieces:
            return None
        minutes = sum(b - a for a, b in pieces)
        name = slack_of(self.id)
        step = Step(name, STAND, (Mode(minutes),), crew=1, skill=name, pausable=True)
        start, end = pieces[0][0], pieces[-1][1]
        return step, Placement(start, end, self._spot(start), (name,), 0, tuple(pieces))

    def _inside(self, name: str) -> bool:
        """A vehicle that is here does not come in again, at whatever hour it is."""
        return name == "in" and self.here

    def _begin(self) -> int:
        if self.here:
            return self.now
        assert self.job.arrives_at is not None  # a constraint of booked jobs
        return self._minute(self.job.arrives_at)

    def _stands(self, minute: int) -> str:
        """Return where the vehicle is: where it is worked on, even if it was to have left."""
        first = self.rows[0]
        if first.state in _BEGUN and first.planned_start is not None:
            return self._spot(self._minute(first.planned_start))
        return self._spot(minute)

    def _spot(self, minute: int) -> str:
        """Return where the vehicle stands from a minute on."""
        for key, start, end in self.stays:
            if start <= minute < end:
                return key
        raise NoChain

    def _row(self, row: Operation) -> tuple[Step, Placement]:
        assert row.planned_start is not None
        step = replace(step_of(row), id=f"{self.id}.{row.sequence}")
        start = self._minute(row.planned_start)
        end = start if row.planned_end is None else self._minute(row.planned_end)
        people = [
            hold
            for hold in self.holds
            if hold.operation_id == row.pk and hold.resource.kind == ResourceKind.TECHNICIAN
        ]
        crew = tuple(sorted({key_of(hold.resource) for hold in people}))
        pieces: list[Window] = join(
            (self._minute(hold.start), self._minute(hold.end)) for hold in people
        )
        if row.state in _BEGUN:
            return self._rest(step, row, end, crew, pieces)
        step = replace(step, modes=(Mode(_up(step.modes[0].dur), step.modes[0].lamps),))
        return step, Placement(start, end, self._spot(start), crew, 0, tuple(pieces))

    def _rest(
        self,
        step: Step,
        row: Operation,
        end: int,
        crew: tuple[str, ...],
        pieces: Sequence[Window],
    ) -> tuple[Step, Placement]:
        """What is left of work under way: what the calendar still keeps for it, or an overrun."""
        left = [(max(a, self.now), b) for a, b in pieces if b > self.now]
        minutes = sum(b - a for a, b in left)
        if not step.attended:
            minutes = self._cure_left(row, end)
            left = []
        start = left[0][0] if left else self.now
        if minutes <= 0:
            minutes = _up(max(GRID_MINUTES, step.modes[0].dur - self._worked(row)))
        step = replace(step, modes=(Mode(minutes, step.modes[0].lamps),), lag_min=0, lag_max=None)
        end = max(end, start)
        return step, Placement(start, end, self._stands(self.now), crew, 0, tuple(left))

    def _cure_left(self, row: Operation, end: int) -> int:
        cure = self.cures.get(row.pk)
        if cure is None:
            return end - self.now
        return self._minute(cure.forecast_handover_at) - self.now

    def _worked(self, row: Operation) -> int:
        spent = sum(
            int((entry.ended_at - entry.started_at).total_seconds() // 60)
            for entry in row.work.all()
            if entry.ended_at is not None
        )
        return spent // max(1, row.crew_count)

    def _done_before(self) -> Operation | None:
        done = [row for row in self.job.operations.all() if row.state == OperationState.DONE]
        return done[-1] if done else None

    def _first(self, step: Step, row: Operation, before: Operation | None) -> Step:
        """Count the lag of what comes first from where the work before it really ended."""
        if before is None and row.state not in _BEGUN:
            return replace(step, lag_min=0, lag_max=None, same_spot=False)
        if row.state in _BEGUN:
            return replace(step, same_spot=True)
        least = most = None
        if before is not None and before.finished_at is not None:
            gone = self.now - self.horizon.minute(before.finished_at)
            least = max(0, _up(step.lag_min - gone))
            if step.lag_max is not None and step.lag_max >= gone:
                most = max(least, (step.lag_max - gone) // GRID_MINUTES * GRID_MINUTES)
        return replace(step, lag_min=least or 0, lag_max=most)

    def _waits(self, placed: Sequence[Placement]) -> tuple[str, ...]:
        parks = {spot.id for spot in self.horizon.resources.spots if spot.park}
        waits = []
        for before, here in pairwise(placed):
            if here.start <= before.end:
                waits.append(STAY)
                continue
            spot = self._spot(max(before.end, self.now if self.here else before.end))
            stood = self._spot(here.start - GRID_MINUTES)
            if spot != stood or (spot != before.spot and spot not in parks):
                raise NoChain
            waits.append(STAY if spot == before.spot else spot)
        return tuple(waits)

    def _seen(self) -> dict[str, Any]:
        return {
            "state": self.job.state,
            "promised_at": _iso(self.job.promised_at),
            "operations": [
                [row.sequence, row.state, _iso(row.planned_start), _iso(row.planned_end)]
                for row in self.rows
            ],
            "holds": sorted(
                [hold.resource_id, hold.start.isoformat(), hold.end.isoformat()]
                for hold in self.holds
            ),
        }


def _up(minutes: int) -> int:
    return -(-minutes // GRID_MINUTES) * GRID_MINUTES


def _iso(at: datetime | None) -> str | None:
    return None if at is None else at.isoformat()
