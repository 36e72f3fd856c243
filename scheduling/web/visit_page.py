"""The customer's page: quote, choice, time, how the work stands, pick-up, aftercare.

Plain forms and no script: it is opened on whatever phone there is.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from scheduling.selectors.visit_page import Visit, VisitState, visit_of
from scheduling.services.feeds import feed_text
from scheduling.services.visit_feeds import visit_feed_token
from scheduling.services.visit_page import (
    visit_accept,
    visit_book,
    visit_choose,
    visit_consent,
    visit_decline,
    visit_offer_picked,
    visit_offers,
)
from scheduling.web.visit_guard import for_customer
from scheduling.web.visit_shown import frame, visit_context
from shop.models import Channel, ConsentPurpose
from shop.refusals import Refused

_IN_CALENDAR = (VisitState.BOOKED, VisitState.WORK, VisitState.READY)


@require_safe
@for_customer
def visit_page(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Show how it stands."""
    context = visit_context(visit, timezone.now(), request.GET.get("said", ""))
    return render(request, "visit/visit.html", context)


@require_POST
@for_customer
def visit_choice(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Choose a finish."""
    key = request.POST.get("choice", "")

    def run() -> None:
        visit_choose(visit=visit, seen=_seen(request), key=key, now=timezone.now())

    return _done(request, visit, run, "chosen")


@require_POST
@for_customer
def visit_yes(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Accept without a time yet."""

    def run() -> None:
        visit_accept(visit=visit, seen=_seen(request), now=timezone.now())

    return _done(request, visit, run, "accepted")


@require_POST
@for_customer
def visit_no(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Decline."""
    why = request.POST.get("why", "")

    def run() -> None:
        visit_decline(visit=visit, seen=_seen(request), why=why, now=timezone.now())

    return _done(request, visit, run, "declined", why=why)


@require_POST
@for_customer
def visit_messages(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Say what may be written about, and how."""
    granted = [
        (channel, purpose)
        for channel in Channel.values
        for purpose in ConsentPurpose.values
        if f"{channel}-{purpose}" in request.POST
    ]

    def run() -> None:
        visit_consent(customer=visit.customer, granted=granted, now=timezone.now())

    return _done(request, visit, run, "messages")


@require_http_methods(["GET", "HEAD", "POST"])
@for_customer
def visit_time(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Show the earliest times that are free; book the one that was picked."""
    if visit.state not in (VisitState.QUOTE, VisitState.TO_BOOK):
        return redirect(_path(visit))
    now = timezone.now()
    posted = request.method == "POST"
    given = request.POST if posted else request.GET
    day = _day(given.get("earliest", ""))
    offers = visit_offers(visit=visit, day=day, now=now)
    problem, status = "", 200
    if posted:
        try:
            offer = visit_offer_picked(offers, given.get("slot", ""))
            visit_book(visit=visit, seen=_seen(request), offer=offer, now=now)
        except Refused as refused:
            problem, status = _text(refused), refused.status
            fresh = _again(visit)
            if fresh.state != visit.state or fresh.quote.pk != visit.quote.pk:
                return _refused(request, fresh, refused)
            visit = fresh
            offers = visit_offers(visit=visit, day=day, now=now)
        else:
            return redirect(f"{_path(visit)}?said=booked")
    context = {
        **frame(visit, now),
        "offers": offers,
        "picked": offers[0].key if offers else "",
        "earliest": day,
        "problem": problem,
    }
    return render(request, "visit/times.html", context, status=status)


@require_safe
@for_customer
def visit_calendar(_request: HttpRequest, visit: Visit) -> HttpResponse:
    """The visit for the customer's own calendar."""
    if visit.job is None or visit.state not in _IN_CALENDAR:
        raise Http404
    now = timezone.now()
    found = feed_text(token=visit_feed_token(job=visit.job, now=now), now=now)
    if found is None:
        raise Http404
    headers = {"Content-Disposition": f'attachment; filename="{visit.job.number}.ics"'}
    return HttpResponse(found.body, content_type="text/calendar; charset=utf-8", headers=headers)


def _done(
    request: HttpRequest, visit: Visit, run: Callable[[], None], said: str, **typed: Any
) -> HttpResponse:
    """Run one service, then show the page anew; a refusal stands above what is true now."""
    try:
        run()
    except Refused as refused:
        return _refused(request, _again(visit), refused, **typed)
    return redirect(f"{_path(visit)}?said={said}")


def _refused(request: HttpRequest, visit: Visit, refused: Refused, **typed: Any) -> HttpResponse:
    context = visit_context(visit, timezone.now())
    context |= {"problem": _text(refused), **typed}
    return render(request, "visit/visit.html", context, status=refused.status)


def _again(visit: Visit) -> Visit:
    """The same link, read again after something changed."""
    fresh = visit_of(_path(visit).rstrip("/").rsplit("/", 1)[-1], timezone.now())
    if fresh is None:
        raise Http404
    return fresh


def _path(visit: Visit) -> str:
    return str(frame(visit, timezone.now())["path"])


def _seen(request: HttpRequest) -> str:
    return request.POST.get("version", "")


def _text(refused: Refused) -> str:
    return " ".join(problem.message for problem in refused.problems)


def _day(text: str) -> date | None:
    try:
        return parse_date(text)
    except ValueError:
        return None
