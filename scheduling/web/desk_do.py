"""What a call comes to: a quote made, sent, or a visit booked."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Final
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _

from estimating.models import Quote, QuoteState
from estimating.selectors import local_day
from estimating.services.quote_letters import quote_letter_send
from scheduling.selectors.drafts import draft_found
from scheduling.services.bookings import quote_book
from scheduling.services.calls import call_book, call_quote
from scheduling.services.drafts import draft_finish, draft_quoted
from scheduling.services.kept import slot_keep, slot_release
from scheduling.services.offers import Offer
from scheduling.web.desk_call import Call, find_offers, keep, operations_of, said, text_of
from scheduling.web.deskform import DeskForm, start_values
from scheduling.web.visits import if_moved_address
from shop.access import MemberRequest
from shop.models import Job
from shop.refusals import Conflict, Refused

ENDS: Final = ("quote", "send", "book", "ask", "keep", "let_go")
_STANDS: Final = (QuoteState.OPEN, QuoteState.SENT)


def desk_do(request: MemberRequest, call: Call, what: str, now: datetime) -> HttpResponse | None:
    """Do ``what``; None where a field was refused before any service was asked.

    Raises
    ------
    Refused
        A service refuses; nothing was written.
    Conflict
        Somebody else has the call in hand, or the visit is gone.
    """
    if call.not_kept:
        raise Conflict(call.not_kept)
    if what in ("keep", "let_go"):
        find_offers(request, call, now)
        _keep_or_let_go(request, call, what, now)
        keep(request, call, now, later=1)
        return None
    _ask_age(call)
    if call.form.errors or call.estimate is None:
        return None
    call.draft = draft_found(request.member.shop, call.key)
    if what == "book":
        return _book(request, call, now)
    quote = _standing(call) or _quote(request, call, now)
    if what in ("quote", "ask"):
        draft_finish(member=request.member, key=call.key, quote=quote, now=now)
        messages.success(request, _("Quote %s is made.") % quote.number)
        if what == "ask":
            return redirect(if_moved_address(quote, call.form.said("earliest")))
        return redirect("quote", quote.pk)
    _send(request, call, quote, now)
    return redirect(address_of("call", call))


def address_of(name: str, call: Call) -> str:
    """The desk with this call: open again under ``call``, over under ``done``."""
    return f"{reverse('desk')}?{urlencode({name: str(call.key)})}"


def _send(request: MemberRequest, call: Call, quote: Quote, now: datetime) -> None:
    """Send the quote; one that could not be sent is made all the same, and says so."""
    _note_quote(request, call, quote, now)
    try:
        quote_letter_send(quote=quote, member=request.member, now=now)
    except Refused as refused:
        made = _("Quote %s is made, but not sent.") % quote.number
        messages.warning(request, f"{made} {text_of(refused)}")
    else:
        told = {"quote": quote.number, "address": quote.customer.email}
        messages.success(request, _("Quote %(quote)s is sent to %(address)s.") % told)


def _note_quote(request: MemberRequest, call: Call, quote: Quote, now: datetime) -> None:
    """The call goes on with a caller who is known now, and with this quote."""
    if call.draft is None:
        return
    call.vehicle, call.customer = quote.vehicle, None
    fields: Any = call.form.data
    data = fields.copy()
    inspections = list(call.form.inspections.values())
    for name, value in start_values(quote.vehicle, inspections, quote.created_at.date()).items():
        if name in ("vehicle", "body") or (value and name not in data):
            data[name] = value
    for name in ("customer", "replaces", "q"):
        data[name] = ""
    form = DeskForm(data, call.catalogue, inspections)
    form.is_valid()
    call.form = form
    draft_quoted(
        draft=call.draft,
        member=request.member,
        quote=quote,
        quoted=form.wanted(),
        form=said(call),
        now=now,
    )


def _standing(call: Call) -> Quote | None:
    """The quote already made in this call, where it says what the fields say."""
    draft = call.draft
    if draft is None or draft.quote is None or draft.quote.state not in _STANDS:
        return None
    return draft.quote if draft.quoted == call.form.wanted() else None


def _replaced(call: Call) -> Quote | None:
    """The quote of this vehicle of which the next version is made."""
    vehicle = call.vehicle
    if vehicle is None:
        return None
    earlier = call.draft.quote if call.draft else None
    if earlier is not None and earlier.vehicle_id == vehicle.pk and earlier.state in _STANDS:
        return earlier
    pk = call.form.said("replaces")
    if pk is None:
        return None
    return Quote.objects.of(vehicle.shop).filter(vehicle=vehicle, pk=pk).first()


def _quote(request: MemberRequest, call: Call, now: datetime) -> Quote:
    today = local_day(request.member.shop, now)
    return call_quote(
        member=request.member,
        caller=call.form.caller(call.vehicle, call.customer, today),
        wish=call.form.wish(_replaced(call)),
        now=now,
    )


def _book(request: MemberRequest, call: Call, now: datetime) -> HttpResponse | None:
    find_offers(request, call, now)
    offer = _chosen(call)
    if offer is None:
        call.problem = call.no_offer or _("There is no visit to book; look for a later day.")
        return None
    job = _booked(request, call, offer, now)
    draft_finish(member=request.member, key=call.key, job=job, now=now)
    messages.success(request, _("Job %s is booked.") % job.number)
    return redirect(address_of("done", call))


def _booked(request: MemberRequest, call: Call, offer: Offer, now: datetime) -> Job:
    standing = _standing(call)
    if standing is not None:
        return quote_book(
            quote=standing,
            member=request.member,
            now=now,
            offer=None if offer is call.kept_offer else offer,
            kept=call.kept,
        )
    today = local_day(request.member.shop, now)
    return call_book(
        member=request.member,
        caller=call.form.caller(call.vehicle, call.customer, today),
        wish=call.form.wish(_replaced(call)),
        offer=None if offer is call.kept_offer else offer,
        now=now,
        kept=call.kept,
    )


def _keep_or_let_go(request: MemberRequest, call: Call, what: str, now: datetime) -> None:
    """Keep the visit that is picked, instead of another one kept before; or let it go."""
    if what == "let_go":
        if call.kept is not None:
            slot_release(slot=call.kept)
        call.kept, call.lapsed = None, False
        return
    offer = _chosen(call)
    if offer is None or call.estimate is None:
        call.problem = call.no_offer or _("There is no visit to keep; look for a later day.")
        return
    if offer is call.kept_offer:
        return
    call.kept = slot_keep(
        shop=request.member.shop,
        member=request.member,
        operations=operations_of(call),
        offer=offer,
        now=now,
        said=call.form.said("name") or "",
        instead=call.kept,
    )
    call.kept_offer, call.lapsed = offer, False


def _ask_age(call: Call) -> None:
    """A price may be looked at with the age left open, taken as new, but not offered so."""
    known = call.vehicle is not None and call.vehicle.first_used_on is not None
    if not known and call.form.said("age_years") is None:
        call.form.add_error("age_years", _("Ask how old it is; write 0 for a new one."))


def _chosen(call: Call) -> Offer | None:
    """The offer picked; the earliest where none was, None where the picked one is gone."""
    found = call.offers.choices if call.offers else []
    slot = call.form.said("slot")
    if not slot:
        return found[0] if found else None
    picked = next((offer for offer in found if offer.key == slot), None)
    if picked is None:
        raise Conflict(
            _("The visit that was picked is no longer free. Look at the new ones and pick again.")
        )
    return picked
