"""What customers do themselves on their page. The services of the desk do the work.

A refusal is put into words for somebody outside: never who or what else is in the shop.
"""

from __future__ import annotations

import logging
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from datetime import date, datetime, time, timedelta
from typing import Final

from django.db import transaction
from django.utils.translation import gettext as _

from estimating.models import Quote
from estimating.services.quote_choices import quote_choose
from estimating.services.quotes import quote_accept, quote_decline
from scheduling.models import KeptSlot, Reminder, ReminderState
from scheduling.selectors.visit_page import Visit, VisitState
from scheduling.services.bookings import SlotTaken, booking_make, quote_book
from scheduling.services.offers import Offer, offers_find, operations_of_quote
from scheduling.services.purposes import PURPOSES
from shop.models import Channel, Consent, ConsentPurpose, Customer, Job, Operation
from shop.refusals import Conflict, Problem, Refused
from shop.services.customers import consent_set

SOURCE: Final = "visit page"
LONGEST_WHY: Final = 200
NOTICE: Final = timedelta(hours=12)
"""Nobody stands at the door before the shop has seen the booking. Common practice, no source."""
_FARTHEST: Final = timedelta(days=366)

_log = logging.getLogger(__name__)


def visit_choose(*, visit: Visit, seen: str, key: str, now: datetime) -> Quote:
    """Make another finish that the shop allows into the next version of the quote.

    Raises
    ------
    Refused
        The quote is not open, was changed since it was seen, or the choice is gone.
    """
    _refuse_unless(visit, seen, VisitState.QUOTE)
    with _in_plain_words():
        return quote_choose(versions=visit.versions, key=key, now=now)


def visit_accept(*, visit: Visit, seen: str, now: datetime) -> Job:
    """Accept the quote without a time yet.

    Raises
    ------
    Refused
        As for :func:`visit_choose`.
    """
    _refuse_unless(visit, seen, VisitState.QUOTE)
    with _in_plain_words():
        return quote_accept(quote=visit.quote, member=None, now=now)


def visit_decline(*, visit: Visit, seen: str, why: str, now: datetime) -> None:
    """Decline the quote; a reason may be given.

    Raises
    ------
    Refused
        As for :func:`visit_choose`, or the reason is too long.
    """
    _refuse_unless(visit, seen, VisitState.QUOTE, VisitState.OVER)
    if len(why) > LONGEST_WHY:
        raise Refused(Problem(_("Use at most %s letters.") % LONGEST_WHY, field="why"))
    said = _("By the customer through their page")
    said = f"{said}: {why.strip()}" if why.strip() else said
    with _in_plain_words():
        quote_decline(quote=visit.quote, member=None, now=now, why=said)


def visit_offers(*, visit: Visit, day: date | None, now: datetime) -> list[Offer]:
    """Return the earliest visits from a day on; none where nothing is free.

    The shop's own reasons are not for the outside, and overtime is the shop's to offer.
    """
    earliest = now + NOTICE
    if day is not None:
        farthest = (now + _FARTHEST).astimezone(visit.shop.tz).date()
        start = datetime.combine(min(day, farthest), time(), visit.shop.tz)
        earliest = max(earliest, start)
    try:
        return offers_find(
            shop=visit.shop,
            operations=_operations(visit),
            earliest=earliest,
            now=now,
            # What the desk keeps for this very quote is theirs to take.
            ignoring=KeptSlot.objects.filter(quote=visit.quote).first(),
        ).found
    except Refused as refused:
        _log.info("no time for %s: %s", visit.quote, refused)
        return []


def visit_book(*, visit: Visit, seen: str, offer: Offer, now: datetime) -> Job:
    """Book a time, and accept the quote with it where that was not done before.

    Raises
    ------
    Refused
        As for :func:`visit_choose`.
    Conflict
        The time is taken, or somebody answered in the meantime.
    """
    _refuse_unless(visit, seen, VisitState.QUOTE, VisitState.TO_BOOK)
    with _in_plain_words():
        if visit.job is None:
            return quote_book(quote=visit.quote, member=None, now=now, offer=offer)
        return booking_make(job=visit.job, member=None, now=now, offer=offer)


def visit_offer_picked(offers: list[Offer], key: str) -> Offer:
    """Return the offer that was picked.

    Raises
    ------
    Conflict
        It is no longer among those that are free.
    """
    found = next((offer for offer in offers if offer.key == key), None)
    if found is None:
        raise Conflict(_taken())
    return found


@transaction.atomic
def visit_consent(
    *, customer: Customer, granted: Collection[tuple[str, str]], now: datetime
) -> int:
    """Keep what a customer allows: the (channel, purpose) pairs ``granted``, and no others.

    Only what changes is written. Messages that wait are withdrawn with their consent.
    Returns how many words changed.
    """
    before = {(row.channel, row.purpose): row.granted for row in consents_of(customer)}
    changed = 0
    for channel in reachable_by(customer):
        for purpose in ConsentPurpose.values:
            pair, says = (channel, purpose), (channel, purpose) in granted
            # Nothing said and nothing ticked: still nothing said.
            if before.get(pair, False) == says:
                continue
            consent_set(
                customer=customer,
                channel=channel,
                purpose=purpose,
                granted=says,
                source=SOURCE,
                now=now,
            )
            changed += 1
            if not says:
                _withdraw(customer, channel, purpose)
    return changed


def consents_of(customer: Customer) -> list[Consent]:
    """What a customer has said so far."""
    return list(Consent.objects.filter(customer=customer))


def reachable_by(customer: Customer) -> list[str]:
    """Channels for which there is an address."""
    ways = {Channel.EMAIL.value: customer.email, Channel.TEXT.value: customer.phone}
    return [channel for channel, address in ways.items() if address]


def _withdraw(customer: Customer, channel: str, purpose: str) -> None:
    kinds = [name for name, row in PURPOSES.items() if row.consent == purpose]
    Reminder.objects.filter(
        customer=customer, channel=channel, purpose__in=kinds, state=ReminderState.DUE
    ).update(state=ReminderState.WITHDRAWN, why=_("Stopped by the customer"))


def _operations(visit: Visit) -> list[Operation]:
    if visit.job is None:
        return operations_of_quote(visit.quote)
    return list(Operation.objects.filter(job=visit.job).order_by("sequence"))


def _refuse_unless(visit: Visit, seen: str, *states: VisitState) -> None:
    """Only what was seen is answered: the newest version, while it may be answered."""
    if visit.state not in states:
        raise Conflict(_("This was answered already; here is how it stands."))
    if seen != str(visit.quote.version):
        raise Conflict(_("The quote has changed since you saw it; please read it again."))


@contextmanager
def _in_plain_words() -> Iterator[None]:
    try:
        yield
    except Conflict as refused:
        _log.info("customer's page: %s", refused)
        taken = isinstance(refused, SlotTaken)
        text = _taken() if taken else _("Somebody answered this in the meantime.")
        raise Conflict(text) from refused
    except Refused as refused:
        _log.info("customer's page: %s", refused)
        if all(problem.field == "choice" for problem in refused.problems):
            raise  # written for the customer already
        text = _("That cannot be done any more. Please read the page again, or call us.")
        raise Refused(text) from refused


def _taken() -> str:
    return _("Somebody else has just taken that time. Please pick one of these.")
