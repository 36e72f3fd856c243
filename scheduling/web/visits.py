"""Accepting a quote: choose a visit that is free, and book it."""

from __future__ import annotations

from datetime import date, datetime, time

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from estimating.models import Quote
from scheduling.services.bookings import quote_book
from scheduling.services.offers import Offer, Offers, offers_find, operations_of_quote
from shop.access import DESK, MemberRequest, member_required
from shop.models import Shop
from shop.refusals import Conflict, Refused
from shop.web.pages import page


@member_required(DESK)
@require_http_methods(["GET", "POST"])
def quote_visit(request: MemberRequest, quote_id: int) -> HttpResponse:
    """Show the visits that are free for a quote; book the one that was picked."""
    shop, now = request.member.shop, timezone.now()
    rows = Quote.objects.of(shop).select_related("shop", "customer", "vehicle")
    quote = get_object_or_404(rows, pk=quote_id)
    given = request.POST if request.method == "POST" else request.GET
    day = day_said(given.get("earliest", ""))
    problem, status = "", 200
    offers = _offers(quote, day, now)
    if request.method == "POST":
        try:
            offer = _picked(offers, given.get("slot", ""))
            job = quote_book(quote=quote, member=request.member, now=now, offer=offer)
        except Refused as refused:
            problem, status = str(refused), refused.status
            offers = _offers(quote, day, now)
        else:
            messages.success(request, _("Job %s is booked.") % job.number)
            return redirect("job", job.pk)
    keys = [offer.key for offer in offers.choices]
    context = {
        "quote": quote,
        "offers": list(zip(keys, offers.choices, strict=True)),
        # Overtime costs more: it is never what happens to be ticked.
        "slot": keys[0] if offers.found else "",
        "reasons": offers.reasons,
        "currency": shop.currency,
        "earliest": day,
        "if_moved": if_moved_address(quote, day),
        "problem": problem,
        "now": now,
    }
    return page(request, "quote/visit.html", context, status=status)


def day_said(text: str) -> date | None:
    """The day that a field says; None where it says none."""
    try:
        return parse_date(text)
    except ValueError:
        return None


def first_moment(shop: Shop, day: date | None, now: datetime) -> datetime:
    """The first moment of a day at which a vehicle could come."""
    return max(now, datetime.combine(day, time(), shop.tz)) if day else now


def if_moved_address(quote: Quote, day: date | None) -> str:
    """The page that says what the move of one booking would bring for a quote."""
    address = reverse("quote_if_moved", args=[quote.pk])
    return f"{address}?earliest={day.isoformat()}" if day else address


def _offers(quote: Quote, day: date | None, now: datetime) -> Offers:
    try:
        return offers_find(
            shop=quote.shop,
            operations=operations_of_quote(quote),
            earliest=first_moment(quote.shop, day, now),
            now=now,
            with_overtime=True,
        )
    except Refused as refused:
        return Offers([], [str(refused)])


def _picked(offers: Offers, key: str) -> Offer:
    found = next((offer for offer in offers.choices if offer.key == key), None)
    if found is None:
        raise Conflict(_("That visit is no longer free. Pick one of these."))
    return found
