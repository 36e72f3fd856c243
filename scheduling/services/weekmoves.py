"""What a plan of the week changes in the calendar: offers to write, and rows to read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Any

from scheduling.core.check import stays
from scheduling.core.fit import Fit, FitOp, FitStatus
from scheduling.core.formats import plan_to_data
from scheduling.core.freeindex import FreeIndex
from scheduling.core.problem import Placement, Plan, PlanStatus
from scheduling.models import HoldPurpose, ResourceKind
from scheduling.services.horizon import key_of
from scheduling.services.joblines import Line
from scheduling.services.offers import Held, Offer, Step, kept_until_promised
from scheduling.services.promises import probability_by, promise_of
from scheduling.services.weekplan import WeekPlan
from shop.models import Operation


@dataclass(frozen=True)
class Moved:
    """One vehicle that a plan moves, and the visit that is to be written for it."""

    line: Line
    offer: Offer


def changed_lines(read: WeekPlan, plan: Plan) -> list[Line]:
    """Return the vehicles that are not where they are now, in the order of their numbers."""
    before = read.damage.plan
    return sorted(
        (
            line
            for line in read.lines.values()
            if plan.waits[line.id] != before.waits[line.id]
            or any(_place(plan, step.id) != _place(before, step.id) for step in line.chain.ops)
        ),
        key=lambda line: line.job.number,
    )


def _place(plan: Plan, op_id: str) -> tuple[int, int, str, frozenset[str]]:
    placed = plan.ops[op_id]
    return placed.start, placed.end, placed.spot, frozenset(placed.crew)


def mixed(read: WeekPlan, plan: Plan, chosen: Iterable[str]) -> Plan:
    """Return the present plan with some vehicles where another plan has them."""
    ops, waits = dict(read.damage.plan.ops), dict(read.damage.plan.waits)
    for key in chosen:
        line = read.lines[key]
        ops |= {step.id: plan.ops[step.id] for step in line.chain.ops}
        waits[key] = plan.waits[key]
    return Plan(PlanStatus.FEASIBLE, ops, waits)


def moves_of(read: WeekPlan, plan: Plan) -> list[Moved]:
    """Return every vehicle that a valid plan moves, with what to write for it.

    Lamps are single units in the calendar and a number in the core: each is given out here.
    """
    changed = changed_lines(read, plan)
    index = _others(read, {line.id for line in changed})
    lamps = [key_of(one) for one in read.horizon.units.values() if one.kind == ResourceKind.LAMP]
    offers = []
    for line in changed:
        offer = _offer(read, line, plan, index, lamps)
        _take(read, index, offer.holds)
        offers.append(offer)
    found = []
    for line, offer in zip(changed, offers, strict=True):
        promised = _with_promise(read, line, plan, offer, index)
        _take(read, index, promised.holds, after=offer.pick_up_at)
        found.append(Moved(line, promised))
    return found


def _take(
    read: WeekPlan, index: FreeIndex, holds: Iterable[Held], *, after: datetime | None = None
) -> None:
    for held in holds:
        start = held.start if after is None else max(held.start, after)
        if start < held.end:
            minutes = read.horizon.minute(start), read.horizon.minute(held.end)
            index.add(key_of(held.resource), *minutes)


def _others(read: WeekPlan, changed: set[str]) -> FreeIndex:
    """Return what is free when the changed vehicles are taken out of the calendar."""
    index = FreeIndex(read.horizon.resources, read.horizon.busy)
    for key in changed:
        for name, start, end in read.lines[key].seen["holds"]:
            first = max(0, read.horizon.minute(datetime.fromisoformat(start)))
            last = read.horizon.minute(datetime.fromisoformat(end))
            if first < last and f"r{name}" in read.horizon.resources.by_id:
                index.remove(f"r{name}", first, last)
    return index


def _offer(read: WeekPlan, line: Line, plan: Plan, index: FreeIndex, lamps: Sequence[str]) -> Offer:
    horizon = read.horizon
    placed = [plan.ops[step.id] for step in line.chain.ops]
    work = list(zip(line.rows, placed[1:], strict=False))
    holds = _standing(read, line, placed, plan.waits[line.id])
    for row, place in work:
        for person in place.crew:
            holds += [
                _held(read, person, a, b, row.sequence, HoldPurpose.WORK) for a, b in place.pieces
            ]
        if place.end > place.start:
            free = [key for key in lamps if index.is_free(key, place.start, place.end)]
            for key in free[: row.lamps]:
                holds.append(
                    _held(read, key, place.start, place.end, row.sequence, HoldPurpose.WORK)
                )
    job = line.job
    assert job.arrives_at is not None  # a constraint of booked jobs
    return Offer(
        arrives_at=job.arrives_at if line.here else horizon.moment(placed[0].start),
        ready_at=horizon.moment(work[-1][1].end),
        pick_up_at=horizon.moment(placed[-1].end),
        promised_at=horizon.moment(placed[-1].end),
        promise_probability=None,
        steps=tuple(_step(read, row, place) for row, place in work),
        holds=tuple(holds),
    )


def _standing(
    read: WeekPlan, line: Line, placed: Sequence[Placement], waits: Sequence[str]
) -> list[Held]:
    """Return the stays in bays and spots, each from entry to leaving."""
    working = {(one.spot, one.start) for one in placed[1 : 1 + len(line.rows)]}
    found: list[tuple[str, int, int]] = []
    for use in stays(line.id, placed, waits):
        if use.end <= use.start:
            continue
        if found and found[-1][0] == use.resource and found[-1][2] == use.start:
            found[-1] = (use.resource, found[-1][1], use.end)
        else:
            found.append((use.resource, use.start, use.end))
    return [
        _held(
            read,
            spot,
            start,
            end,
            None,
            HoldPurpose.WORK
            if any(where == spot and start <= at < end for where, at in working)
            else HoldPurpose.WAIT,
        )
        for spot, start, end in found
    ]


def _held(
    read: WeekPlan, key: str, start: int, end: int, sequence: int | None, purpose: str
) -> Held:
    horizon = read.horizon
    unit = horizon.units[key]
    return Held(unit, horizon.moment(start), horizon.moment(end), sequence, purpose)


def _step(read: WeekPlan, row: Operation, place: Placement) -> Step:
    units = read.horizon.units
    return Step(
        sequence=row.sequence,
        start=read.horizon.moment(place.start),
        end=read.horizon.moment(place.end),
        bay=units[place.spot].name,
        crew=tuple(units[one].name for one in place.crew),
    )


def _with_promise(read: WeekPlan, line: Line, plan: Plan, offer: Offer, index: FreeIndex) -> Offer:
    """Say what to promise, never later than was told where the plan's time in hand is as long.

    How sure that is may change a little with the place; it is worked out anew and shown. The
    vehicles around it count as punctual here, for they move too. Of a vehicle under way nothing
    is worked out: it keeps what was promised if the plan allows.
    """
    horizon, promised = read.horizon, line.job.promised_at
    fit = _fit(line, plan)
    if line.here:
        at, share = offer.pick_up_at, None
        if promised is not None and offer.ready_at <= promised:
            at, share = max(promised, at), line.job.promise_probability
    else:
        promise = promise_of(line.rows, fit, horizon)
        at, share = max(offer.pick_up_at, horizon.moment(promise.minute)), promise.probability
        if promised is not None and offer.pick_up_at <= promised < at:
            at = promised
            share = probability_by(line.rows, fit, horizon, horizon.minute(promised))
    kept = replace(offer, promised_at=at, promise_probability=share)
    return kept_until_promised(kept, fit, replace(horizon, index=index))


def _fit(line: Line, plan: Plan) -> Fit:
    """Return a vehicle of a plan as the fit that a promise is simulated on."""
    placed = [plan.ops[step.id] for step in line.chain.ops]
    ops = tuple(
        FitOp(str(row.sequence), one.start, one.end, one.spot, one.crew)
        for row, one in zip(line.rows, placed[1:], strict=False)
    )
    return Fit(FitStatus.FOUND, start=placed[0].start, end=placed[-1].end, ops=ops)


def plan_kept(read: WeekPlan, plan: Plan) -> dict[str, Any]:
    """Return what a plan says of the vehicles it moves, as data that can be read back."""
    lines = changed_lines(read, plan)
    ops = {step.id: plan.ops[step.id] for line in lines for step in line.chain.ops}
    waits = {line.id: plan.waits[line.id] for line in lines}
    return plan_to_data(Plan(plan.status, ops, waits))


def row_of(read: WeekPlan, moved: Moved) -> dict[str, Any]:
    """Return one line of the list before and after, as plain data."""
    line, offer = moved.line, moved.offer
    job = line.job
    before = read.damage.plan
    work = line.chain.ops[1 : 1 + len(line.rows)]
    return {
        "key": line.id,
        "job": job.pk,
        "number": job.number,
        "vehicle": job.vehicle.description,
        "customer": job.customer.name,
        "hit": line.id in read.damage.hit,
        "here": line.here,
        "told": job.promised_at is not None,
        "pick_up_before": _iso(job.promised_at),
        "pick_up_after": offer.promised_at.isoformat(),
        "sure_before": _text(job.promise_probability),
        "sure_after": _text(offer.promise_probability),
        "ready_before": _iso(job.ready_at),
        "ready_after": offer.ready_at.isoformat(),
        "bays_before": _names(read, (before.ops[step.id].spot for step in work)),
        "bays_after": list(dict.fromkeys(step.bay for step in offer.steps)),
        "crew_before": _names(read, (one for s in line.chain.ops for one in before.ops[s.id].crew)),
        "crew_after": list(dict.fromkeys(one for step in offer.steps for one in step.crew)),
        "notes": list(offer.notes),
    }


def _names(read: WeekPlan, keys: Iterable[str]) -> list[str]:
    units: Mapping[str, Any] = read.horizon.units
    return [units[key].name for key in dict.fromkeys(keys) if key in units]


def _text(share: Decimal | None) -> str | None:
    return None if share is None else str(share)


def _iso(at: datetime | None) -> str | None:
    return None if at is None else at.isoformat()
