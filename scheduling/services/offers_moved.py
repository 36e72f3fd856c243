"""The earlier visit there would be if one booking were moved, with its customer's consent.

Never among the ordinary offers, and nothing is written by asking: somebody has to talk to the
other customer first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import ROUND_DOWN, Decimal
from math import ceil
from typing import Final, NamedTuple

from django.db.models import F, Prefetch
from django.utils.translation import gettext as _

from scheduling.core.check_fit import check_fit
from scheduling.core.earliest import earliest_fit
from scheduling.core.earliest_moved import (
    MOST_LOOKED_AT,
    Movable,
    Swap,
    earliest_if_moved,
    taken,
)
from scheduling.core.fit import Chain, Fit
from scheduling.core.values import Window
from scheduling.core.worktime import cut, join
from scheduling.models import Hold
from scheduling.services.calendar_kept import Disagreement, calendar_forget, calendar_kept
from scheduling.services.chains import chain_of
from scheduling.services.holder import Holder, of_others
from scheduling.services.horizon import (
    EpochSeconds,
    Horizon,
    calendar_refusals,
    horizon_load,
    key_of,
)
from scheduling.services.neighbours import neighbours_load, without_job
from scheduling.services.offers import Offer, offer_of, resources_near
from scheduling.services.promises import promise_of, with_visit
from shop.models import Job, JobState, Operation, Shop
from shop.refusals import Refused

LEAST_GAIN: Final = timedelta(hours=4)
"""Less is not worth asking a customer for (common practice, no source)."""
MOST_MOVED: Final = timedelta(days=1)
"""How much earlier a drop-off, or later a pick-up, may become (common practice, no source)."""
NOTICE: Final = timedelta(hours=24)
"""Who comes sooner than that is not asked any more (common practice, no source)."""
LOOK_DAYS: Final = 42
"""Inside a transaction, where no calendar is kept, no more than these are read."""


@dataclass(frozen=True)
class OfferIfMoved:
    """What becomes possible if one customer agrees to be moved.

    Attributes
    ----------
    job : Job
        Whose booking would move, as it is now.
    moved : Offer
        Its new visit.
    offer : Offer
        The visit that is then free.
    plain_promised_at : datetime
        The earliest pick-up that can be promised with nothing moved.
    """

    job: Job
    moved: Offer
    offer: Offer
    plain_promised_at: datetime

    @property
    def gain_hours(self) -> Decimal:
        """By how many hours the promised pick-up becomes earlier."""
        gained = (self.plain_promised_at - self.offer.promised_at) / timedelta(hours=1)
        return Decimal(str(gained)).quantize(Decimal("0.1"), rounding=ROUND_DOWN)

    @property
    def promise_holds(self) -> bool:
        """Whether the moved vehicle can still be promised by the time its customer was told."""
        told = self.job.promised_at
        return told is not None and self.moved.promised_at <= told

    @property
    def drop_off_stays(self) -> bool:
        """Whether the other customer brings the vehicle when it was agreed."""
        return self.job.arrives_at == self.moved.arrives_at

    @property
    def key(self) -> str:
        """What a choice is sent back as: everything that was said."""
        told = (
            self.moved.arrives_at,
            self.moved.promised_at,
            self.offer.arrives_at,
            self.offer.promised_at,
        )
        return "+".join([str(self.job.pk), *(f"{at.timestamp():.0f}" for at in told)])


def offer_if_moved(
    *,
    shop: Shop,
    operations: Sequence[Operation],
    earliest: datetime,
    now: datetime,
    ignoring: Holder | None = None,
) -> OfferIfMoved | None:
    """Return the best visit that the move of a single booking makes possible.

    Only bookings whose vehicles come no sooner than a day from ``now`` are looked at, and only
    a gain of some hours is worth it. A bounded number of queries; nothing is locked or written.

    Parameters
    ----------
    operations
        Saved or unsaved rows of the asked job, in order.
    earliest
        Aware instant before which its vehicle cannot come; never before ``now``.
    ignoring
        What is kept for the same caller counts as free.

    Raises
    ------
    Refused
        The operations cannot be planned whatever the calendar holds.
    """
    if earliest.tzinfo is None:
        raise Refused(_("The earliest drop-off needs a time zone."))
    asked = _Asked(shop, operations, chain_of(operations), max(earliest, now), now, ignoring)
    start = asked.start - MOST_MOVED
    try:
        with calendar_refusals():
            kept = calendar_kept(shop=shop, start=start, now=now, ignoring=ignoring)
            if kept is not None:
                return _look(asked, kept)
    except Disagreement:
        calendar_forget(shop)
    with calendar_refusals():
        read = horizon_load(shop=shop, start=start, days=LOOK_DAYS, now=now, ignoring=ignoring)
    return _look(asked, read)


@dataclass(frozen=True)
class _Asked:
    shop: Shop
    operations: Sequence[Operation]
    chain: Chain
    start: datetime
    now: datetime
    ignoring: Holder | None


def _look(asked: _Asked, horizon: Horizon) -> OfferIfMoved | None:
    not_before = horizon.minute(asked.start)
    plain = earliest_fit(asked.chain, horizon.index, not_before=not_before)
    if not plain.found:
        return None
    by = plain.end - LEAST_GAIN // timedelta(minutes=1)
    jobs = _movable_jobs(asked, horizon.moment(not_before), horizon.moment(by))
    if not jobs:
        return None
    rows = _held(asked, horizon, jobs, (not_before, plain.end))
    movable = [_movable(job, rows, horizon, asked) for job in jobs.values()]
    found = earliest_if_moved(asked.chain, horizon.index, movable, not_before=not_before, by=by)
    if found.swap is None:
        return None
    job = jobs[int(found.swap.id)]
    _check(asked, job, found.swap, rows, horizon)
    return _offers(asked, job, found.swap, plain, rows, horizon)


def _movable_jobs(asked: _Asked, start: datetime, end: datetime) -> dict[int, Job]:
    """Booked jobs that hold something in between and do not come within the notice."""
    rows = (
        Job.objects.of(asked.shop)
        .filter(
            state=JobState.BOOKED,
            arrives_at__gte=asked.now + NOTICE,
            holds__start__lt=end,
            holds__end__gt=start,
        )
        .select_related("customer", "vehicle", "shop")
        .prefetch_related(Prefetch("operations", Operation.objects.order_by("sequence")))
        .order_by("arrives_at", "pk")
        .distinct()[:MOST_LOOKED_AT]
    )
    return {job.pk: job for job in rows if job.operations.all()}


class _Row(NamedTuple):
    """A hold in minutes of the horizon, widened to whole slots; ``job`` is None of a kept slot."""

    job: int | None
    unit: str
    start: int
    end: int


def _told(job: Job) -> datetime:
    assert job.arrives_at is not None  # a constraint of booked jobs
    return job.promised_at or job.ready_at or job.arrives_at


def _held(asked: _Asked, horizon: Horizon, jobs: Mapping[int, Job], around: Window) -> list[_Row]:
    """Every hold wherever one of both could be placed, in one query."""
    low = min([horizon.minute(_start(job)) for job in jobs.values()] + [around[0]])
    high = max([horizon.minute(_told(job)) for job in jobs.values()] + [around[1]])
    span = _minutes(MOST_MOVED)
    start, end = horizon.moment(max(0, low - span)), horizon.moment(high + span)
    found = Hold.objects.of(asked.shop).filter(start__lt=end, end__gt=start).order_by()
    found = of_others(found, asked.ignoring)
    zero, grid = horizon.origin.timestamp(), 60 * horizon.resources.grid
    rows = found.values_list(
        "job_id", "resource_id", EpochSeconds(F("start")), EpochSeconds(F("end"))
    )
    return [
        _Row(
            job,
            f"r{unit}",
            max(0, int((starts - zero) // grid)) * horizon.resources.grid,
            ceil((ends - zero) / grid) * horizon.resources.grid,
        )
        for job, unit, starts, ends in rows
        if ends > zero
    ]


def _start(job: Job) -> datetime:
    assert job.arrives_at is not None  # a constraint of booked jobs
    return job.arrives_at


def _minutes(span: timedelta) -> int:
    return span // timedelta(minutes=1)


def _movable(job: Job, rows: Sequence[_Row], horizon: Horizon, asked: _Asked) -> Movable:
    """Return a booking with what only it holds: of a slot shared by the minute nothing is freed."""
    mine: dict[str, list[Window]] = {}
    others: dict[str, list[Window]] = {}
    for row in rows:
        held = mine if row.job == job.pk else others
        held.setdefault(row.unit, []).append((row.start, row.end))
    start = horizon.minute(_start(job))
    release = horizon.minute(max(asked.now + NOTICE, _start(job) - MOST_MOVED))
    return Movable(
        id=str(job.pk),
        chain=chain_of(list(job.operations.all())),
        holds=tuple(
            (unit, a, b)
            for unit, windows in sorted(mine.items())
            if unit in horizon.resources.by_id
            for a, b in cut(join(windows), join(others.get(unit, [])))
        ),
        start=start,
        told=horizon.minute(_told(job)),
        release=min(start, max(0, release)),
        most=_minutes(MOST_MOVED),
    )


def _check(asked: _Asked, job: Job, swap: Swap, rows: Sequence[_Row], horizon: Horizon) -> None:
    """Hold both places against the rows and against each other: nobody else may be touched."""
    busy: dict[str, list[Window]] = {}
    for row in rows:
        if row.job != job.pk:
            busy.setdefault(row.unit, []).append((row.start, row.end))
    chain = chain_of(list(job.operations.all()))
    for one, fit in ((chain, swap.moved), (asked.chain, swap.asked)):
        resources = resources_near(horizon.resources, fit.start, fit.end)
        wrong = check_fit(one, resources, busy, fit)
        if wrong:
            raise Disagreement(f"a place breaks the rules: {wrong[0].subject}: {wrong[0].text}")
        for hold in fit.holds:
            busy.setdefault(hold.resource, []).append((hold.start, hold.end))


def _offers(
    asked: _Asked, job: Job, swap: Swap, plain: Fit, rows: Sequence[_Row], horizon: Horizon
) -> OfferIfMoved | None:
    """Return both visits with what can be promised for each beside the other."""
    around = neighbours_load(
        horizon=horizon,
        since=min(swap.asked.start, swap.moved.start, plain.start),
        until=max(swap.asked.end, swap.moved.end, plain.end),
        now=asked.now,
        ignoring=None,
    )
    before = promise_of(asked.operations, plain, horizon, around)
    others = without_job(around, job)
    operations = list(job.operations.all())
    index = horizon.index.copy()
    for unit, start, end in _movable(job, rows, horizon, asked).holds:
        index.remove(unit, start, end)
    index = taken(index, (*swap.asked.holds, *swap.moved.holds))
    free = replace(horizon, index=index)
    beside = with_visit(others, "moved", operations, swap.moved, horizon)
    offer = offer_of(asked.operations, swap.asked, free, beside)
    for held in offer.holds:
        start = max(swap.asked.end, horizon.minute(held.start))
        if start < horizon.minute(held.end):
            index.add(key_of(held.resource), start, horizon.minute(held.end))
    beside = with_visit(others, "asked", asked.operations, swap.asked, horizon)
    moved = offer_of(operations, swap.moved, free, beside)
    found = OfferIfMoved(job, moved, offer, horizon.moment(before.minute))
    # What counts is what can be promised, not only what is planned.
    return found if found.plain_promised_at - offer.promised_at >= LEAST_GAIN else None
