"""When a vehicle can come and when it can be fetched, with nothing else moved."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Final, NamedTuple

from django.utils.translation import gettext as _

from scheduling.core.check_fit import check_fit
from scheduling.core.earliest import alternatives, earliest_fit
from scheduling.core.fit import Chain, Fit, Why
from scheduling.core.freeindex import Resources
from scheduling.core.values import Window
from scheduling.models import HoldPurpose, Resource, ResourceKind
from scheduling.services.bay_wish import with_bay_wish
from scheduling.services.calendar_kept import Disagreement, calendar_forget, calendar_kept
from scheduling.services.chains import chain_of, operations_of_quote, reason_text
from scheduling.services.holder import Holder
from scheduling.services.horizon import (
    Horizon,
    calendar_refusals,
    holds_between,
    horizon_load,
    policy_of,
)
from scheduling.services.neighbours import NOBODY, Neighbours, neighbours_load
from scheduling.services.overtime import OvertimeUse, overtime_fit
from scheduling.services.promises import promise_of
from shop.models import Operation, Shop
from shop.refusals import Refused

__all__ = [
    "Held",
    "Offer",
    "Offers",
    "Step",
    "kept_until_promised",
    "offer_of",
    "offers_find",
    "operations_of_quote",
    "resources_near",
]

LOOKS_DAYS: Final = (14, 42)
"""Most questions are about the next weeks; only a full calendar is read further."""
_LATER_MAY_HELP: Final = frozenset({Why.HORIZON, Why.FULL, Why.LAG, Why.NO_WINDOW})


class Step(NamedTuple):
    """When, where and by whom one operation is done."""

    sequence: int
    start: datetime
    end: datetime
    bay: str
    crew: tuple[str, ...]


class Held(NamedTuple):
    """A resource to keep for ``[start, end)``; ``sequence`` is None for a whole stay."""

    resource: Resource
    start: datetime
    end: datetime
    sequence: int | None
    purpose: str


@dataclass(frozen=True)
class Offer:
    """One visit that can be booked as it stands.

    ``ready_at`` is the planned end of the work and ``pick_up_at`` the first opening
    after it. ``promised_at`` is what to say to the customer: the vehicle is done by
    then with ``promise_probability``. ``notes`` say what a person should know.
    """

    arrives_at: datetime
    ready_at: datetime
    pick_up_at: datetime
    promised_at: datetime
    promise_probability: Decimal | None
    steps: tuple[Step, ...]
    holds: tuple[Held, ...]
    notes: tuple[str, ...] = ()
    overtime: tuple[OvertimeUse, ...] = ()
    overtime_pay: Decimal = Decimal(0)

    @property
    def key(self) -> str:
        """What a choice among offers is sent back as."""
        return self.arrives_at.isoformat() + ("+overtime" if self.overtime else "")


@dataclass(frozen=True)
class Offers:
    """What was found, the earliest pick-up first; ``reasons`` say why there is no more.

    ``overtime`` is an earlier visit for which people would stay longer, at its price. It is
    never among those ``found``: somebody has to choose it.
    """

    found: list[Offer]
    reasons: list[str]
    overtime: Offer | None = None

    @property
    def choices(self) -> list[Offer]:
        """All that can be chosen, the one with overtime last."""
        return self.found + ([self.overtime] if self.overtime else [])


def offers_find(
    *,
    shop: Shop,
    operations: Sequence[Operation],
    earliest: datetime,
    now: datetime,
    count: int = 3,
    ignoring: Holder | None = None,
    with_overtime: bool = False,
    bay: Resource | None = None,
) -> Offers:
    """Return the earliest visit and ``count - 1`` later ones, nothing else moved.

    Reads the calendar without locking it: an offer holds nothing. Only booking
    it decides, so an offer may be gone by then.

    Parameters
    ----------
    operations
        Saved or unsaved rows of one job, in order.
    earliest
        Aware instant before which the vehicle cannot come; never before ``now``.
    ignoring
        A job or a kept slot whose own holds count as free.
    with_overtime
        Look as well for an earlier visit in the overtime that people have agreed to.
    bay
        A wish: what can be done in this bay is done there and in no other.

    Raises
    ------
    Refused
        The operations cannot be planned whatever the calendar holds.
    """
    if earliest.tzinfo is None:
        raise Refused(_("The earliest drop-off needs a time zone."))
    asked = _Question(
        shop=shop,
        operations=operations,
        chain=chain_of(operations),
        start=max(earliest, now),
        count=count,
        ignoring=ignoring,
        now=now,
        bay=bay,
    )
    look = _look_until_found(asked)
    overtime = _overtime_offer(asked, look) if with_overtime else None
    return Offers(look.found, look.reasons, overtime)


def _look_until_found(asked: _Question) -> _Look:
    """Look in what is kept in memory; in the rows inside a transaction, or where they disagree."""
    try:
        with calendar_refusals():
            kept = calendar_kept(
                shop=asked.shop, start=asked.start, now=asked.now, ignoring=asked.ignoring
            )
            if kept is not None:
                return _look_in(asked, kept)
    except Disagreement:
        # Somebody booked between two queries, or what is kept went wrong.
        calendar_forget(asked.shop)
    for days in LOOKS_DAYS:
        look = _look(asked, days)
        if not look.may_be_later:
            return look
        if len(look.found) >= asked.count and not _at_the_edge(look):
            return look
    return _look(asked, max(policy_of(asked.shop).horizon_days, LOOKS_DAYS[-1]))


def _at_the_edge(look: _Look) -> bool:
    """Whether a promise lies where the look ends: when the shop opens after it was not read."""
    end = look.horizon.moment(look.horizon.resources.horizon)
    return any(offer.promised_at >= end for offer in look.found)


@dataclass(frozen=True)
class _Question:
    shop: Shop
    operations: Sequence[Operation]
    chain: Chain
    start: datetime
    count: int
    ignoring: Holder | None
    now: datetime
    bay: Resource | None = None


@dataclass(frozen=True)
class _Look:
    found: list[Offer]
    reasons: list[str]
    may_be_later: bool
    horizon: Horizon
    first: Fit
    around: Neighbours


def _look(asked: _Question, days: int) -> _Look:
    with calendar_refusals():
        horizon = horizon_load(
            shop=asked.shop, start=asked.start, days=days, now=asked.now, ignoring=asked.ignoring
        )
    return _look_in(asked, horizon)


def _look_in(asked: _Question, horizon: Horizon) -> _Look:
    if asked.bay is not None:
        horizon = with_bay_wish(horizon, asked.chain, asked.bay)
    not_before = horizon.minute(asked.start)
    first = earliest_fit(asked.chain, horizon.index, not_before=not_before)
    if not first.found:
        reasons = [reason_text(one, asked.operations, horizon) for one in first.reasons]
        later = any(one.why in _LATER_MAY_HELP for one in first.reasons)
        return _Look([], reasons, later, horizon, first, NOBODY)
    fits = (first, *alternatives(asked.chain, horizon.index, first, n=asked.count - 1))
    _check(asked, fits, horizon)
    around = neighbours_load(
        horizon=horizon,
        since=first.start,
        until=max(fit.end for fit in fits),
        now=asked.now,
        ignoring=asked.ignoring,
    )
    found = [offer_of(asked.operations, fit, horizon, around) for fit in fits]
    return _Look(found, [], True, horizon, first, around)


def _check(asked: _Question, fits: Sequence[Fit], horizon: Horizon) -> None:
    """Never offer what breaks a rule; what is kept in memory is held against the rows."""
    busy = horizon.busy
    if horizon.kept:
        low, high = min(fit.start for fit in fits), max(fit.end for fit in fits)
        busy = holds_between(horizon.shop, horizon.origin, low, high, asked.ignoring)
    for fit in fits:
        resources = resources_near(horizon.resources, fit.start, fit.end)
        wrong = check_fit(asked.chain, resources, busy, fit)
        if wrong:
            raise Disagreement(f"a fit breaks the rules: {wrong[0].subject}: {wrong[0].text}")


def resources_near(resources: Resources, low: int, high: int) -> Resources:
    """Return the shop with the windows of a stay only: a calendar has hundreds."""

    def near(windows: tuple[Window, ...]) -> tuple[Window, ...]:
        first = max(0, bisect_left(windows, (low,)) - 1)
        return windows[first : bisect_left(windows, (high + 1,))]

    crew = tuple(replace(one, windows=near(one.windows)) for one in resources.crew)
    return replace(resources, crew=crew, opening=near(resources.opening))


def _overtime_offer(asked: _Question, look: _Look) -> Offer | None:
    """An earlier visit for which people stay longer, with who stays and what it costs."""
    longer = overtime_fit(
        asked.chain,
        look.horizon,
        not_before=look.horizon.minute(asked.start),
        plain=look.first if look.first.found else None,
    )
    if longer is None:
        return None
    _check(asked, [longer.fit], longer.horizon)
    offer = offer_of(asked.operations, longer.fit, longer.horizon, look.around)
    return replace(offer, overtime=longer.uses, overtime_pay=longer.pay)


def offer_of(
    operations: Sequence[Operation], fit: Fit, horizon: Horizon, around: Neighbours
) -> Offer:
    """Return a fit as a visit that can be booked, with what to promise."""
    rows = {str(row.sequence): row for row in operations}
    steps = tuple(
        Step(
            sequence=rows[op.op_id].sequence,
            start=horizon.moment(op.start),
            end=horizon.moment(op.end),
            bay=horizon.units[op.spot].name,
            crew=tuple(horizon.units[one].name for one in op.crew),
        )
        for op in fit.ops
    )
    promise = promise_of(operations, fit, horizon, around)
    offer = Offer(
        arrives_at=horizon.moment(fit.start),
        ready_at=steps[-1].end,
        pick_up_at=horizon.moment(fit.end),
        promised_at=horizon.moment(promise.minute),
        promise_probability=promise.probability,
        steps=steps,
        holds=_held(fit, horizon),
    )
    return kept_until_promised(offer, fit, horizon)


def _held(fit: Fit, horizon: Horizon) -> tuple[Held, ...]:
    """Holds of a fit; those of one place that touch are one stay, from entry to leaving."""
    stays: list[Held] = []
    others: list[Held] = []
    working = {(op.spot, op.start) for op in fit.ops}
    for hold in fit.holds:
        unit = horizon.units[hold.resource]
        start, end = horizon.moment(hold.start), horizon.moment(hold.end)
        if unit.kind not in (ResourceKind.BAY, ResourceKind.PARKING):
            others.append(Held(unit, start, end, int(hold.op_id), HoldPurpose.WORK))
            continue
        worked = any(spot == hold.resource and hold.start <= at < hold.end for spot, at in working)
        purpose = HoldPurpose.WORK if worked else HoldPurpose.WAIT
        before = stays[-1] if stays else None
        if before is not None and before.resource == unit and before.end == start:
            both = HoldPurpose.WORK if HoldPurpose.WORK in (purpose, before.purpose) else purpose
            stays[-1] = before._replace(end=end, purpose=both)
        else:
            stays.append(Held(unit, start, end, None, purpose))
    return (*stays, *others)


def kept_until_promised(offer: Offer, fit: Fit, horizon: Horizon) -> Offer:
    """Keep a place for the vehicle from the planned pick-up until the promised one."""
    start, end = offer.pick_up_at, offer.promised_at
    if end <= start:
        return offer
    last = max((held for held in offer.holds if held.sequence is None), key=lambda one: one.end)
    first_minute, last_minute = fit.end, horizon.minute(end)
    if horizon.index.is_free(f"r{last.resource.pk}", first_minute, last_minute):
        holds = tuple(held._replace(end=end) if held is last else held for held in offer.holds)
        return replace(offer, holds=holds)
    for spot in horizon.resources.spots:
        if spot.park and horizon.index.is_free(spot.id, first_minute, last_minute):
            wait = Held(horizon.units[spot.id], start, end, None, HoldPurpose.WAIT)
            return replace(offer, holds=(*offer.holds, wait))
    note = _("No place is free for the vehicle between the planned and the promised pick-up.")
    return replace(offer, notes=(*offer.notes, note))
