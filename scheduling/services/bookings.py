"""Make, move and cancel a booking: holds, times, state, event and messages in one transaction.

Places are looked for before the transaction begins and the database decides inside
it, so that a slow search locks nobody out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any, Final

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from estimating.models import Quote
from estimating.services.quotes import quote_accept
from scheduling.models import Hold, KeptSlot
from scheduling.services.again import tried_again
from scheduling.services.holds import (
    holds_record,
    holds_release,
    holds_write,
    in_the_way,
    is_overlap,
    minute_after,
    resources_lock,
)
from scheduling.services.kept import slot_give_up, slot_offer
from scheduling.services.offers import Offer, operations_of_quote
from scheduling.services.reminder_rows import (
    booking_reminders_move,
    booking_reminders_write,
)
from scheduling.services.reminder_write import reminders_withdraw
from scheduling.services.settle import SlotTaken, Wish, settle, who_has
from shop.models import Job, JobState, Member, Operation, OperationState
from shop.refusals import Problem, Refused
from shop.services.job_state import job_move, job_note, whose

__all__ = [
    "SlotTaken",
    "booking_cancel",
    "booking_make",
    "booking_move",
    "bookings_rearrange",
    "quote_book",
]

_BOOKABLE: Final = (JobState.QUOTED, JobState.NO_SHOW)
_UNDER_WAY: Final = (JobState.ON_SITE, JobState.IN_WORK, JobState.CURING)
_HERE: Final = (*_UNDER_WAY, JobState.READY)


@tried_again
def booking_make(
    *,
    job: Job,
    member: Member | None,
    now: datetime,
    earliest: datetime | None = None,
    offer: Offer | None = None,
    kept: KeptSlot | None = None,
) -> Job:
    """Book a quoted job: ``offer`` as it stands, or the earliest visit from ``earliest`` on.

    With ``kept`` what was kept for the caller: that visit, or ``offer`` where they chose
    another. The slot becomes the booking in the same transaction. ``member`` is None where
    customers book it themselves, through their page.

    Raises
    ------
    Refused
        The job's state does not allow it, or no place was found (with reasons).
    SlotTaken
        The offer is no longer free: what has it, and what is free instead.
    """
    _refuse_unless_bookable(job)
    operations = list(Operation.objects.filter(job=job).order_by("sequence"))
    wish = Wish(job.shop, operations, earliest or now, now, ignoring=kept)
    if kept is not None and offer is None:
        offer = slot_offer(slot=kept, operations=operations)

    def write(chosen: Offer) -> Job:
        locked = Job.objects.select_for_update().get(pk=job.pk)
        slot_give_up(slot=kept, offer=chosen)
        return _book(locked, chosen, member, now)

    return _caller_sees(job, settle(wish, offer, write))


@tried_again
def quote_book(
    *,
    quote: Quote,
    member: Member | None,
    now: datetime,
    earliest: datetime | None = None,
    offer: Offer | None = None,
    kept: KeptSlot | None = None,
) -> Job:
    """Accept a quote and book its job in one transaction: both happen or neither.

    ``kept`` is as for :func:`booking_make`; what was kept for the quote need not be named.
    ``member`` is None where customers do it themselves, through their page.

    Raises
    ------
    Refused
        The quote cannot be accepted (any more), or no place was found.
    SlotTaken
        The offer is no longer free.
    """
    slot = kept or KeptSlot.objects.filter(quote=quote).first()
    operations = operations_of_quote(quote)
    wish = Wish(quote.shop, operations, earliest or now, now, ignoring=slot)
    if slot is not None and offer is None and earliest is None:
        offer = slot_offer(slot=slot, operations=operations)

    def write(chosen: Offer) -> Job:
        job = quote_accept(quote=quote, member=member, now=now)
        slot_give_up(slot=slot, offer=chosen)
        return _book(job, chosen, member, now)

    try:
        return settle(wish, offer, write)
    finally:
        # Undone or not, the caller's instance says what the database says.
        quote.refresh_from_db()


@tried_again
def booking_move(
    *,
    job: Job,
    member: Member,
    now: datetime,
    earliest: datetime | None = None,
    offer: Offer | None = None,
    why: str = "",
) -> Job:
    """Move a booked job to ``offer``, or to the earliest visit from ``earliest`` on.

    Its own holds count as free.

    Raises
    ------
    Refused
        The vehicle is here already, nothing is booked, or no place was found.
    SlotTaken
        The offer is gone, or others kept taking what was found; the booking stands as it was.
    """
    _refuse_unless_movable(job)
    operations = list(Operation.objects.filter(job=job).order_by("sequence"))
    wish = Wish(job.shop, operations, earliest or now, now, ignoring=job)

    def write(chosen: Offer) -> Job:
        # Race: the vehicle is checked in, or the booking moved, while we searched.
        locked = Job.objects.select_for_update().get(pk=job.pk)
        _refuse_unless_movable(locked)
        before = _times_record(locked) | {"holds": holds_record(locked)}
        mine = Hold.objects.filter(job=locked)
        # Both places at once: who waits for the old one must not have the new one.
        old = mine.values_list("resource_id", flat=True)
        resources_lock([*old, *(held.resource.pk for held in chosen.holds)])
        mine.delete()
        _keep(locked, chosen, now)
        event = job_note(
            job=locked,
            kind="moved",
            now=now,
            member=member,
            why=why,
            details={
                "before": before,
                "after": _times_record(locked) | {"holds": holds_record(locked)},
            },
        )
        booking_reminders_move(job=locked, event=event, now=now)
        return locked

    return _caller_sees(job, settle(wish, offer, write))


@tried_again
@transaction.atomic
def bookings_rearrange(
    *, visits: Sequence[tuple[Job, Offer]], member: Member, now: datetime, why: str
) -> list[Job]:
    """Move several vehicles at once: all of them or, where anything is in the way, none.

    A vehicle that has not come gets its whole visit anew; one that is here keeps what is past
    and gets the rest. Customers are written to where what they were told changes.

    Raises
    ------
    Refused
        A job is no longer in a state with anything left to plan.
    SlotTaken
        Somebody else has what is needed.
    """
    order = {job.pk: offer for job, offer in visits}
    # Race: check-in, work or another move in this moment. Locked in one order by everybody.
    rows = Job.objects.select_for_update(of=("self",)).select_related("shop")
    locked = list(rows.filter(pk__in=order).order_by("pk"))
    wanted = [held for offer in order.values() for held in offer.holds]
    old = Hold.objects.filter(job__in=order).values_list("resource_id", flat=True)
    resources_lock([*old, *(held.resource.pk for held in wanted)])
    before = {}
    for job in locked:
        if job.state not in (JobState.BOOKED, *_UNDER_WAY):
            raise Refused(_("%(number)s is %(state)s; nothing of it can be moved.") % _named(job))
        before[job.pk] = _times_record(job) | {"holds": holds_record(job)}
        if job.state == JobState.BOOKED:
            Hold.objects.filter(job=job).delete()
        else:
            holds_release(holds=Hold.objects.filter(job=job, end__gt=now), now=now)
            order[job.pk] = _from_now(order[job.pk], now)
    try:
        with transaction.atomic():
            for job in locked:
                _keep(job, order[job.pk], now)
    except IntegrityError as error:
        if not is_overlap(error):
            raise
        shop = locked[0].shop
        pairs = in_the_way(shop=shop, held=wanted)
        others = [pair for pair in pairs if pair[1].job_id not in order]
        problems, taken = who_has(others, shop)
        raise SlotTaken([*problems, Problem(_("Nothing was moved."))], [], taken) from error
    for job in locked:
        _tell_moved(job, before[job.pk], member, now, why)
    return locked


def _from_now(offer: Offer, now: datetime) -> Offer:
    """Leave out of an offer what has passed since it was worked out."""
    start = minute_after(now)
    holds = (held._replace(start=max(held.start, start)) for held in offer.holds)
    return replace(offer, holds=tuple(held for held in holds if held.start < held.end))


def _tell_moved(job: Job, before: dict[str, Any], member: Member, now: datetime, why: str) -> None:
    after = _times_record(job) | {"holds": holds_record(job)}
    details = {"before": before, "after": after}
    event = job_note(job=job, kind="moved", now=now, member=member, why=why, details=details)
    told = ("arrives_at", "promised_at")
    if job.state == JobState.BOOKED and any(before[key] != after[key] for key in told):
        booking_reminders_move(job=job, event=event, now=now)


@tried_again
@transaction.atomic
def booking_cancel(*, job: Job, member: Member, now: datetime, why: str) -> Job:
    """Cancel a job, give back everything it holds and withdraw its messages.

    Raises
    ------
    Refused
        No reason is given, or work has begun on the vehicle.
    """
    if not why.strip():
        raise Refused(Problem(_("Say why it is cancelled."), field="why"))
    locked = Job.objects.select_for_update().get(pk=job.pk)
    if locked.state in _HERE and locked.state != JobState.ON_SITE:
        raise Refused(
            _(
                "%(number)s is %(state)s and cannot be cancelled: work has begun. "
                "Finish it, or agree with the customer and hand the vehicle over."
            )
            % _named(locked)
        )
    details = {"before": _times_record(locked) | {"holds": holds_record(locked)}}
    Hold.objects.filter(job=locked).delete()
    Operation.objects.filter(job=locked).update(planned_start=None, planned_end=None)
    job_move(job=locked, to=JobState.CANCELLED, now=now, member=member, why=why, details=details)
    reminders_withdraw(job=locked, why=_("Cancelled: %s") % why)
    return _caller_sees(job, locked)


def _book(job: Job, offer: Offer, member: Member | None, now: datetime) -> Job:
    """Write a booking inside the caller's transaction."""
    _refuse_unless_bookable(job)
    if job.state == JobState.NO_SHOW:
        job_move(
            job=job,
            to=JobState.QUOTED,
            now=now,
            member=member,
            why=_("Booked again"),
            details=whose(member),
        )
    _keep(job, offer, now)
    event = job_move(
        job=job,
        to=JobState.BOOKED,
        now=now,
        member=member,
        details={"after": _times_record(job) | {"holds": holds_record(job)}, **whose(member)},
    )
    booking_reminders_write(job=job, event=event, now=now)
    return job


def _keep(job: Job, offer: Offer, now: datetime) -> None:
    """Write an offer's holds and times."""
    holds_write(holder=job, held=offer.holds, now=now)
    steps = {step.sequence: step for step in offer.steps}
    operations = list(Operation.objects.filter(job=job))
    for row in operations:
        if row.sequence not in steps:
            continue  # done already
        if row.state == OperationState.PLANNED:
            row.planned_start = steps[row.sequence].start
        assert row.planned_start is not None  # under way, so it was planned
        # An operation that takes no time has no stretch in the calendar.
        row.planned_end = max(steps[row.sequence].end, row.planned_start)
        if row.planned_end == row.planned_start:
            row.planned_end = None
    Operation.objects.bulk_update(operations, ["planned_start", "planned_end"])
    job.arrives_at = offer.arrives_at
    job.ready_at = offer.ready_at
    job.promised_at = offer.promised_at
    job.promise_probability = offer.promise_probability
    job.overtime_pay = offer.overtime_pay
    job.save(
        update_fields=[
            "arrives_at", "ready_at", "promised_at", "promise_probability", "overtime_pay",
        ]
    )  # fmt: skip


def _times_record(job: Job) -> dict[str, Any]:
    fields = ("arrives_at", "ready_at", "promised_at")
    times = {name: getattr(job, name) for name in fields}
    record: dict[str, Any] = {
        name: at.isoformat() if at is not None else None for name, at in times.items()
    }
    share = job.promise_probability
    record["promise_probability"] = None if share is None else str(share)
    if job.overtime_pay:
        record["overtime_pay"] = str(job.overtime_pay)
    return record


def _refuse_unless_bookable(job: Job) -> None:
    if job.state not in _BOOKABLE:
        raise Refused(_("%(number)s is %(state)s; only a quoted job can be booked.") % _named(job))


def _refuse_unless_movable(job: Job) -> None:
    if job.state in _HERE:
        raise Refused(
            _(
                "%(number)s is %(state)s: the vehicle is here, so its visit cannot be moved "
                "any more. Change the plan of its remaining work with the people on it."
            )
            % _named(job)
        )
    if job.state != JobState.BOOKED:
        raise Refused(_("%(number)s is %(state)s; there is no booking to move.") % _named(job))


def _named(job: Job) -> dict[str, str]:
    return {"number": job.number, "state": job.get_state_display().lower()}


def _caller_sees(job: Job, written: Job) -> Job:
    """Bring the caller's own instance up to date, so that no old copy is shown or saved."""
    if job is not written:
        job.refresh_from_db()
    return job
