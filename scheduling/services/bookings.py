"""Make, move and cancel a booking: holds, times, state, event and messages in one transaction.

Places are looked for before the transaction begins and the database decides inside
it, so that a slow search locks nobody out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any, Final

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from estimating.models import Quote
from estimating.services.quotes import quote_accept
from scheduling.models import Hold
from scheduling.services.holds import (
    holds_record,
    holds_release,
    holds_write,
    in_the_way,
    in_the_way_text,
    is_overlap,
    minute_after,
    resources_lock,
)
from scheduling.services.offers import Offer, offers_find, operations_of_quote
from scheduling.services.reminder_rows import (
    booking_reminders_move,
    booking_reminders_write,
)
from scheduling.services.reminder_write import reminders_withdraw
from scheduling.services.when import moment_text
from shop.models import Job, JobState, Member, Operation, OperationState, Shop
from shop.refusals import Conflict, Problem, Refused
from shop.services.job_state import job_move, job_note

_TRIES: Final = 3
"""How often a place that was free is looked for again after somebody else took it."""
_BOOKABLE: Final = (JobState.QUOTED, JobState.NO_SHOW)
_UNDER_WAY: Final = (JobState.ON_SITE, JobState.IN_WORK, JobState.CURING)
_HERE: Final = (*_UNDER_WAY, JobState.READY)


class SlotTaken(Conflict):
    """Somebody else has what this booking needs; ``offers`` are the nearest that are free."""

    def __init__(self, problems: list[Problem], offers: list[Offer]) -> None:
        super().__init__(*problems)
        self.offers = offers


def booking_make(
    *,
    job: Job,
    member: Member,
    now: datetime,
    earliest: datetime | None = None,
    offer: Offer | None = None,
) -> Job:
    """Book a quoted job: ``offer`` as it stands, or the earliest visit from ``earliest`` on.

    Raises
    ------
    Refused
        The job's state does not allow it, or no place was found (with reasons).
    SlotTaken
        The offer is no longer free: what has it, and what is free instead.
    """
    _refuse_unless_bookable(job)
    operations = list(Operation.objects.filter(job=job).order_by("sequence"))
    wish = _Wish(job.shop, operations, earliest or now, now)

    def write(chosen: Offer) -> Job:
        locked = Job.objects.select_for_update().get(pk=job.pk)
        return _book(locked, chosen, member, now)

    return _caller_sees(job, _settle(wish, offer, write))


def quote_book(
    *,
    quote: Quote,
    member: Member,
    now: datetime,
    earliest: datetime | None = None,
    offer: Offer | None = None,
) -> Job:
    """Accept a quote and book its job in one transaction: both happen or neither.

    Raises
    ------
    Refused
        The quote cannot be accepted (any more), or no place was found.
    SlotTaken
        The offer is no longer free.
    """
    wish = _Wish(quote.shop, operations_of_quote(quote), earliest or now, now)

    def write(chosen: Offer) -> Job:
        return _book(quote_accept(quote=quote, member=member, now=now), chosen, member, now)

    try:
        return _settle(wish, offer, write)
    finally:
        # Undone or not, the caller's instance says what the database says.
        quote.refresh_from_db()


def booking_move(
    *, job: Job, member: Member, now: datetime, earliest: datetime, why: str = ""
) -> Job:
    """Move a booked job to the earliest visit from ``earliest`` on; its own holds count as free.

    Raises
    ------
    Refused
        The vehicle is here already, nothing is booked, or no place was found.
    SlotTaken
        Others kept taking what was found.
    """
    _refuse_unless_movable(job)
    operations = list(Operation.objects.filter(job=job).order_by("sequence"))
    wish = _Wish(job.shop, operations, earliest, now, moving=job)

    def write(chosen: Offer) -> Job:
        # Race: the vehicle is checked in, or the booking moved, while we searched.
        locked = Job.objects.select_for_update().get(pk=job.pk)
        _refuse_unless_movable(locked)
        before = _times_record(locked) | {"holds": holds_record(locked)}
        Hold.objects.filter(job=locked).delete()
        _keep(locked, chosen)
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

    return _caller_sees(job, _settle(wish, None, write))


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
    resources_lock(held.resource.pk for offer in order.values() for held in offer.holds)
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
                _keep(job, order[job.pk])
    except IntegrityError as error:
        if not is_overlap(error):
            raise
        text = _("Somebody booked the same time in this moment; nothing was moved.")
        raise SlotTaken([Problem(text)], []) from error
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


class _Wish:
    """What is looked for, again and again if need be."""

    def __init__(
        self,
        shop: Shop,
        operations: list[Operation],
        earliest: datetime,
        now: datetime,
        moving: Job | None = None,
    ) -> None:
        self.shop, self.operations, self.moving = shop, operations, moving
        self.earliest, self.now = earliest, now

    def search(self, count: int) -> list[Offer]:
        """Return up to ``count`` offers; Refused with reasons where there is none."""
        offers = offers_find(
            shop=self.shop,
            operations=self.operations,
            earliest=self.earliest,
            now=self.now,
            count=count,
            ignoring=self.moving,
        )
        if not offers.found:
            raise Refused(*offers.reasons)
        return offers.found


def _settle(wish: _Wish, offer: Offer | None, write: Callable[[Offer], Job]) -> Job:
    """Book the offer, or what is found; what was found is looked for again when it is gone.

    Race: between looking and writing, somebody else books the same bay. The
    database refuses the second writer, whose transaction is undone as a whole.
    """
    if offer is not None and offer.arrives_at < wish.now:
        raise Refused(
            _("This drop-off, %s, has passed; look for another.")
            % moment_text(offer.arrives_at, wish.shop)
        )
    tries = 1 if offer else _TRIES
    while True:
        chosen = offer or wish.search(1)[0]
        tries -= 1
        try:
            with transaction.atomic():
                return write(chosen)
        except IntegrityError as error:
            if not is_overlap(error):
                raise
            if not tries:
                raise _taken(wish, chosen) from error


def _taken(wish: _Wish, chosen: Offer) -> SlotTaken:
    pairs = in_the_way(shop=wish.shop, held=chosen.holds, ignoring=wish.moving)
    said = in_the_way_text(pairs, wish.shop) or [
        _("Somebody booked the same time in this moment; nothing was booked here.")
    ]
    wish.earliest = max(wish.earliest, chosen.arrives_at)
    try:
        free = wish.search(3)
    except Refused as error:
        return SlotTaken([*map(Problem, said), *error.problems], [])
    instead = [
        _("Free instead: bring it %(arrives)s, collect it %(promised)s.")
        % {
            "arrives": moment_text(one.arrives_at, wish.shop),
            "promised": moment_text(one.promised_at, wish.shop),
        }
        for one in free
    ]
    return SlotTaken([Problem(text) for text in (*said, *instead)], free)


def _book(job: Job, offer: Offer, member: Member, now: datetime) -> Job:
    """Write a booking inside the caller's transaction."""
    _refuse_unless_bookable(job)
    if job.state == JobState.NO_SHOW:
        job_move(job=job, to=JobState.QUOTED, now=now, member=member, why=_("Booked again"))
    _keep(job, offer)
    event = job_move(
        job=job,
        to=JobState.BOOKED,
        now=now,
        member=member,
        details={"after": _times_record(job) | {"holds": holds_record(job)}},
    )
    booking_reminders_write(job=job, event=event, now=now)
    return job


def _keep(job: Job, offer: Offer) -> None:
    """Write an offer's holds and times."""
    holds_write(job=job, held=offer.holds)
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
