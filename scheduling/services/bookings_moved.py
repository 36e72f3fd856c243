"""Book what the move of one other booking makes possible: both in one transaction, or neither."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from django.db import transaction
from django.utils.translation import gettext as _

from estimating.models import Quote
from scheduling.services.bookings import (
    SlotTaken,
    booking_make,
    bookings_rearrange,
    quote_book,
)
from scheduling.services.offers import operations_of_quote
from scheduling.services.offers_moved import OfferIfMoved, offer_if_moved
from shop.models import Job, JobState, Member, Operation
from shop.refusals import Conflict, Problem, Refused

ANSWER_WITHIN: Final = timedelta(hours=4)
"""How long the other customer may think about it (common practice, no source)."""
_WHY_MOST: Final = 300
_Written = Callable[[OfferIfMoved], Job]


def booking_make_with_move(
    *,
    job: Job,
    member: Member,
    now: datetime,
    earliest: datetime,
    asked_at: datetime,
    key: str,
    consent: str,
) -> Job:
    """Book a quoted job in the place that another booking makes for it.

    Parameters
    ----------
    earliest, asked_at
        What was asked, and when: the same question is asked again as of that moment, and only
        the same answer is booked.
    key
        ``OfferIfMoved.key`` of what was said to both customers.
    consent
        Who of the other customer's side agreed, and how.

    Raises
    ------
    Refused
        No consent is noted, or the question is too old.
    Conflict
        Anything has changed since; nothing is moved or booked.
    """
    operations = list(Operation.objects.filter(job=job).order_by("sequence"))

    def write(found: OfferIfMoved) -> Job:
        return booking_make(job=job, member=member, now=now, offer=found.offer)

    return _Wish(member, now, earliest, asked_at, key, consent).settle(operations, write)


def quote_book_with_move(
    *,
    quote: Quote,
    member: Member,
    now: datetime,
    earliest: datetime,
    asked_at: datetime,
    key: str,
    consent: str,
) -> Job:
    """Accept a quote and book its job in the place that another booking makes for it.

    Parameters and refusals are those of :func:`booking_make_with_move`.
    """

    def write(found: OfferIfMoved) -> Job:
        return quote_book(quote=quote, member=member, now=now, offer=found.offer)

    wish = _Wish(member, now, earliest, asked_at, key, consent)
    try:
        return wish.settle(operations_of_quote(quote), write)
    finally:
        # Undone or not, the caller's instance says what the database says.
        quote.refresh_from_db()


@dataclass(frozen=True)
class _Wish:
    """What was asked and answered, by whom, and the other customer's consent."""

    member: Member
    now: datetime
    earliest: datetime
    asked_at: datetime
    key: str
    consent: str

    def settle(self, operations: Sequence[Operation], write: _Written) -> Job:
        self._refuse_without_consent()
        if not self.now - ANSWER_WITHIN <= self.asked_at <= self.now:
            raise Conflict(_("The times were worked out too long ago. Look at them anew."))
        found = offer_if_moved(
            shop=self.member.shop,
            operations=operations,
            earliest=self.earliest,
            now=self.asked_at,
        )
        if found is None or found.key != self.key:
            raise _changed()
        if min(found.offer.arrives_at, found.moved.arrives_at) < self.now:
            raise Conflict(_("A drop-off of these has passed. Look at the times anew."))
        return self._write(found, write)

    def _refuse_without_consent(self) -> None:
        if len(self.consent.split()) < 2:
            text = _("Write who agreed to the move, and how: such as “Ms Venn, on the phone”.")
            raise Refused(Problem(text, field="consent"))
        if len(self.why) > _WHY_MOST:
            text = _("This note is too long by %s letters.") % (len(self.why) - _WHY_MOST)
            raise Refused(Problem(text, field="consent"))

    @property
    def why(self) -> str:
        """What stands in the story of the booking that moves."""
        return _("Moved with consent, asked by %(name)s: %(consent)s") % {
            "name": self.member.name,
            "consent": " ".join(self.consent.split()),
        }

    def _write(self, found: OfferIfMoved, write: _Written) -> Job:
        try:
            with transaction.atomic():
                # Race: the booking is moved, checked in or cancelled while we looked.
                locked = Job.objects.select_for_update(of=("self",)).get(pk=found.job.pk)
                if _seen(locked) != _seen(found.job) or locked.state != JobState.BOOKED:
                    raise _changed()
                bookings_rearrange(
                    visits=[(locked, found.moved)], member=self.member, now=self.now, why=self.why
                )
                return write(found)
        except SlotTaken as error:
            # What it would name as free instead is free only with the move, which is undone.
            raise _changed() from error


def _seen(job: Job) -> tuple[datetime | None, ...]:
    return job.arrives_at, job.ready_at, job.promised_at


def _changed() -> Conflict:
    return Conflict(
        _("The calendar has changed since; nothing was moved or booked. Look at the times anew.")
    )
