"""The work already planned around a visit: what an overrun elsewhere would delay it by."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from django.db.models import F, FloatField, IntegerField, Value
from django.db.models.functions import Cast

from scheduling.core.draws import Range
from scheduling.core.promise import Before, Pace, Step, Use
from scheduling.core.values import Window
from scheduling.core.worktime import common, join
from scheduling.models import Hold, ResourceKind
from scheduling.services.holder import Holder, of_others
from scheduling.services.horizon import EpochSeconds, Horizon
from shop.models import Attendance, Job, JobState, Operation, OperationState

PACES: Final = {
    Attendance.PAUSABLE: Pace.PAUSABLE,
    Attendance.THROUGH: Pace.WHOLE,
    Attendance.UNATTENDED: Pace.UNATTENDED,
}
LOOK_BACK_MINUTES: Final = 3 * 24 * 60
LOOK_AHEAD_MINUTES: Final = 14 * 24 * 60
"""How long after its planned end an overrun is followed."""
_WEEK: Final = 7 * 24 * 60
_HOLD, _BAY, _OPERATION = 0, 1, 2


@dataclass(frozen=True)
class Neighbours:
    """Steps of other jobs in their planned places, and what they use, in horizon minutes."""

    steps: tuple[Step, ...]
    uses: Mapping[str, tuple[Use, ...]]


NOBODY: Final = Neighbours((), {})


def without_job(around: Neighbours, job: Job) -> Neighbours:
    """Return the work around as if one job were not there."""
    key = f"j{job.pk}"
    gone = {step.id for step in around.steps if step.job == key}
    uses = {
        unit: tuple(use for use in held if use[2] not in gone) for unit, held in around.uses.items()
    }
    return Neighbours(tuple(step for step in around.steps if step.job != key), uses)


def neighbours_load(
    *, horizon: Horizon, since: int, until: int, now: datetime, ignoring: Holder | None
) -> Neighbours:
    """Return the unfinished work planned around minutes ``since`` to ``until``, in one query.

    It begins three days before: what runs over longer ago has lost itself in nights and gaps.
    What is planned before ``now`` and not begun begins now at the earliest; what runs has been
    running since it was planned to.
    """
    low = max(0, since - LOOK_BACK_MINUTES)
    planned = _planned(_rows(horizon, low, until, ignoring), horizon)
    steps: list[Step] = []
    uses: dict[str, list[Use]] = defaultdict(list)
    earliest = max(0, horizon.minute(now))
    for job in planned.values():
        for k, row in enumerate(job.operations):
            before = (Before(job.operations[k - 1].id, row.lag_min),) if k else ()
            steps.append(_step(row, job, before, earliest, horizon))
            nxt = job.operations[k + 1] if k + 1 < len(job.operations) else None
            for unit in job.crew.get(row.pk, ()):
                uses[unit].append((row.start, row.end, row.id, Before(row.id)))
            stay = next((one for one in job.stays if one[1] <= row.start < one[2]), None)
            if stay is not None:
                # A vehicle that stands where it was worked on frees the bay when it leaves.
                stays = nxt is not None and nxt.start <= stay[2]
                frees = Before(nxt.id, its_start=True) if nxt and stays else Before(row.id)
                uses[stay[0]].append((row.start, row.end, row.id, frees))
    return Neighbours(tuple(steps), {unit: tuple(held) for unit, held in uses.items()})


@dataclass(frozen=True, slots=True)
class _Row:
    """One planned operation, in minutes of the horizon."""

    pk: int
    start: int
    end: int
    minutes: Range
    planned: int
    lag_min: int
    attendance: str
    running: bool

    @property
    def id(self) -> str:
        return f"o{self.pk}"


@dataclass
class _Job:
    key: int
    operations: list[_Row]
    crew: dict[int, set[str]]
    stays: list[tuple[str, int, int]]


def _rows(
    horizon: Horizon, since: int, until: int, ignoring: Holder | None
) -> Iterable[tuple[Any, ...]]:
    """Holds and operations as rows of one shape: tag, job, key, start, end, and six figures."""
    low, high = horizon.moment(since), horizon.moment(until)
    none = Value(0.0, output_field=FloatField())
    nothing = Value(0, output_field=IntegerField())
    said = Value("")
    held = Hold.objects.of(horizon.shop).filter(start__lt=high, end__gt=low).order_by()
    planned = Operation.objects.filter(
        job__shop=horizon.shop, planned_start__lt=high, planned_end__gt=low
    ).exclude(state=OperationState.DONE)
    planned = planned.exclude(job__state__in=(JobState.CANCELLED, JobState.NO_SHOW)).order_by()
    held = of_others(held, ignoring).filter(job__isnull=False)
    if isinstance(ignoring, Job):
        planned = planned.exclude(job=ignoring)
    span = (EpochSeconds(F("start")), EpochSeconds(F("end")))
    blank = (none, none, none, nothing, nothing, said, said)
    crew = held.filter(resource__kind=ResourceKind.TECHNICIAN, operation__isnull=False)
    bays = held.filter(resource__kind=ResourceKind.BAY)
    return planned.values_list(
        Value(_OPERATION),
        "job_id",
        "pk",
        EpochSeconds(F("planned_start")),
        EpochSeconds(F("planned_end")),
        "minutes_p10",
        "minutes_p50",
        "minutes_p90",
        Cast("planned_minutes", IntegerField()),
        Cast("lag_min_minutes", IntegerField()),
        "attendance",
        "state",
    ).union(
        crew.values_list(Value(_HOLD), "operation_id", "resource_id", *span, *blank),
        bays.values_list(Value(_BAY), "job_id", "resource_id", *span, *blank),
        all=True,
    )


def _planned(rows: Iterable[tuple[Any, ...]], horizon: Horizon) -> dict[int, _Job]:
    zero = horizon.origin.timestamp()
    jobs: dict[int, _Job] = {}
    crew: dict[int, set[str]] = defaultdict(set)
    stays: dict[int, list[tuple[str, int, int]]] = defaultdict(list)
    for tag, key, other, starts, ends, *figures in rows:
        start, end = int((starts - zero) // 60), int(-((zero - ends) // 60))
        if tag == _HOLD:
            crew[key].add(f"r{other}")
        elif tag == _BAY:
            stays[key].append((f"r{other}", start, end))
        else:
            p10, p50, p90, planned, lag_min, attendance, state = figures
            job = jobs.setdefault(key, _Job(key, [], crew, []))
            job.operations.append(
                _Row(
                    pk=other,
                    start=start,
                    end=end,
                    minutes=Range(p10, p50, p90),
                    planned=planned,
                    lag_min=lag_min,
                    attendance=attendance,
                    running=state != OperationState.PLANNED,
                )
            )
    for key, job in jobs.items():
        job.operations.sort(key=lambda row: (row.start, row.end))
        job.stays = stays.get(key, [])
    return jobs


def _step(
    row: _Row, job: _Job, before: tuple[Before, ...], earliest: int, horizon: Horizon
) -> Step:
    return Step(
        id=row.id,
        job=f"j{job.key}",
        start=row.start if row.running else max(row.start, earliest),
        minutes=row.minutes,
        planned=row.planned,
        pace=PACES[Attendance(row.attendance)],
        windows=team_windows(horizon, tuple(sorted(job.crew.get(row.pk, ()))), row.end),
        before=before,
    )


def team_windows(horizon: Horizon, team: tuple[str, ...], end: int) -> tuple[Window, ...]:
    """Stretches in which all of a team are there, from some weeks before ``end`` to some after.

    Whole weeks, so that many steps share one table of them.
    """
    shifts = [horizon.resources.by_id[one] for one in team if one in horizon.resources.by_id]
    if not shifts:
        return ()
    until = (end + LOOK_AHEAD_MINUTES) // _WEEK * _WEEK + _WEEK
    windows = join(getattr(shifts[0], "windows", ()))
    for other in shifts[1:]:
        windows = common(windows, join(getattr(other, "windows", ())))
    return tuple(common(windows, [(max(0, until - 6 * _WEEK), until)]))
