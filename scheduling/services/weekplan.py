"""The shop's own calendar as a core week with its current plan.

A vehicle that is booked is a chain from its drop-off to its pick-up: both take no time, happen
in opening hours and anywhere a vehicle can stand. One that is here is what is left of its
chain, from where it stands now. Drop-offs stay where the customers were told; what cannot be
read as a chain (a vehicle that is done, holds that do not fit together) keeps what it has.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

from scheduling.core.problem import (
    CrewMember,
    Frozen,
    Mode,
    Objective,
    Placement,
    Plan,
    PlanStatus,
    Spot,
    Week,
)
from scheduling.core.problem import Job as Chain
from scheduling.core.problem import Operation as Step
from scheduling.core.trouble import Damage, assess
from scheduling.core.values import Window
from scheduling.core.worktime import cut, join
from scheduling.models import Absence, Cure, Hold, Resource, ResourceKind
from scheduling.services.horizon import GRID_MINUTES, Horizon, horizon_load, key_of
from scheduling.services.joblines import STAND, Line, NoChain, inside, line_of, slack_of
from shop.models import Job, JobState, Shop

ANSWERED: Final = (
    JobState.BOOKED,
    JobState.ON_SITE,
    JobState.IN_WORK,
    JobState.CURING,
    JobState.READY,
)
AHEAD_DAYS: Final = 14
"""How far after the last planned pick-up a place may be found."""
MOST_DAYS: Final = 56
CHANGE_POINTS: Final = 20
"""Price of moving one vehicle: so many quarters of an hour must be gained by it elsewhere.

Common practice, no source.
"""
OBJECTIVE: Final = Objective(tardiness=20, flow=1, move=2, per=15, change=CHANGE_POINTS)
AWAY: Final = "away"


@dataclass(frozen=True)
class WeekPlan:
    """A shop's calendar as the core sees it.

    Attributes
    ----------
    damage : Damage
        Week, plan and the vehicles whose plan does not stand as it is.
    lines : mapping of str to Line
        Each vehicle that may be planned, by its job in the core.
    horizon : Horizon
        The calendar that it was read from.
    as_of : datetime
        The moment it is seen from.
    """

    damage: Damage
    lines: Mapping[str, Line]
    horizon: Horizon
    as_of: datetime

    @property
    def week(self) -> Week:
        """The problem."""
        return self.damage.week


def weekplan_load(*, shop: Shop, as_of: datetime) -> WeekPlan:
    """Read a shop's calendar from ``as_of`` on.

    Parameters
    ----------
    as_of : datetime
        What began before is past; a proposal is checked again with the moment it was made for.
    """
    jobs = list(
        Job.objects.of(shop)
        .filter(state__in=ANSWERED, holds__end__gt=as_of)
        .distinct()
        .select_related("vehicle", "customer", "shop")
        .prefetch_related("operations__work")
        .order_by("pk")
    )
    ends = [at for job in jobs for at in (job.ready_at, job.promised_at) if at is not None]
    last = max(ends, default=as_of)
    days = min(MOST_DAYS, (max(last, as_of) - as_of).days + AHEAD_DAYS)
    horizon = horizon_load(shop=shop, start=as_of, days=days)
    holds = _holds(jobs, as_of)
    cures = {one.operation_id: one for one in Cure.objects.filter(job__in=jobs)}
    now = -(-horizon.minute(as_of) // GRID_MINUTES) * GRID_MINUTES
    lines: dict[str, Line] = {}
    # What is kept for a caller is not ours to move.
    kept = Hold.objects.of(shop).filter(kept__isnull=False, end__gt=as_of)
    fixed: list[Hold] = list(kept.select_related("resource"))
    for job in jobs:
        mine = holds.get(job.pk, [])
        if job.state == JobState.READY:
            fixed += mine
            continue
        try:
            line = line_of(job, mine, horizon, now, cures)
        except NoChain:
            fixed += mine
        else:
            lines[line.id] = line
    lamps = _lamps(shop, horizon, fixed)
    week = _week(horizon, list(lines.values()), fixed, lamps)
    plan = Plan(
        PlanStatus.FEASIBLE,
        {key: one for line in lines.values() for key, one in line.placed.items()}
        | {chain.ops[0].id: one for chain, one in lamps},
        {line.id: line.waits for line in lines.values()} | {chain.id: () for chain, _ in lamps},
    )
    return WeekPlan(assess(week, plan, []), lines, horizon, as_of)


def _holds(jobs: Sequence[Job], as_of: datetime) -> dict[int, list[Hold]]:
    found: dict[int, list[Hold]] = {}
    rows = Hold.objects.filter(job__in=jobs).select_related("resource").order_by("start", "pk")
    for row in rows:
        found.setdefault(row.booked_job_id, []).append(row)
    return found


def _week(
    horizon: Horizon,
    lines: Sequence[Line],
    fixed: Sequence[Hold],
    lamps: Sequence[tuple[Chain, Placement]],
) -> Week:
    resources = horizon.resources
    busy: dict[str, list[Window]] = {}
    for hold in fixed:
        window = _window(horizon, hold.start, hold.end)
        if window is not None:
            busy.setdefault(key_of(hold.resource), []).append(window)
    spots = [
        replace(
            spot,
            caps=spot.caps | {STAND},
            closures=tuple(join([*_on_grid(spot.closures), *busy.get(spot.id, [])])),
        )
        for spot in resources.spots
    ]
    calendars: dict[str, tuple[Window, ...]] = {}
    names: dict[tuple[Window, ...], str] = {}
    crew = []
    for one in resources.crew:
        windows = tuple(cut(list(inside(one.windows)), busy.get(one.id, [])))
        name = names.setdefault(windows, f"calendar {len(names) + 1}")
        calendars[name] = windows
        crew.append(CrewMember(one.id, name, one.skills))
    calendars["open"] = tuple(join(inside(resources.opening)))
    for line in lines:
        slack = slack_of(line.id)
        if slack in line.placed:
            crew.append(CrewMember(slack, "open", frozenset({slack})))
    frozen = {key: kept for line in lines for key, kept in line.frozen.items()}
    for chain, placed in lamps:
        frozen[chain.ops[0].id] = Frozen(placed.start, placed.end, placed.spot)
    if lamps:
        spots.append(Spot(AWAY, frozenset({AWAY}), capacity=len(lamps)))
    return Week(
        grid=GRID_MINUTES,
        horizon=resources.horizon // GRID_MINUTES * GRID_MINUTES,
        spots=tuple(spots),
        crew=tuple(crew),
        calendars=calendars,
        opening=tuple(inside(resources.opening)),
        lamps=len(resources.lamps),
        jobs=(*(line.chain for line in lines), *(chain for chain, _ in lamps)),
        objective=OBJECTIVE,
        frozen=frozen,
        name=horizon.shop.slug,
    )


def _on_grid(windows: Sequence[Window]) -> list[Window]:
    """Closed windows widened to whole slots."""
    grid = GRID_MINUTES
    return [(start // grid * grid, -(-end // grid) * grid) for start, end in windows]


def _window(horizon: Horizon, start: datetime, end: datetime) -> Window | None:
    last = horizon.resources.horizon // GRID_MINUTES * GRID_MINUTES
    low = max(0, (start - horizon.origin) // timedelta(minutes=1))
    ((first, until),) = _on_grid([(low, horizon.minute(end))])
    until = min(until, last)
    return (first, until) if first < until else None


def _lamps(shop: Shop, horizon: Horizon, fixed: Sequence[Hold]) -> list[tuple[Chain, Placement]]:
    """Lamps that are away or kept for others, each as a job that stands still with it."""
    taken: dict[Resource, list[Window]] = {}
    lamps = {unit.pk: unit for unit in horizon.units.values() if unit.kind == ResourceKind.LAMP}
    absences = Absence.objects.filter(resource__in=lamps, end__gt=horizon.origin)
    spans = [(row.resource_id, row.start, row.end) for row in absences]
    spans += [(hold.resource_id, hold.start, hold.end) for hold in fixed]
    for unit_id, start, end in spans:
        window = _window(horizon, start, end)
        if unit_id in lamps and window is not None:
            taken.setdefault(lamps[unit_id], []).append(window)
    found = []
    for unit, windows in taken.items():
        for number, (first, until) in enumerate(join(windows)):
            name = f"{AWAY} {key_of(unit)} {number}"
            step = Step(name, AWAY, (Mode(until - first, lamps=1),))
            chain = Chain(name, (step,), release=first, due=until, weight=0)
            found.append((chain, Placement(first, until, AWAY)))
    return found
