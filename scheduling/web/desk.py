"""The quote desk: one page for one call, worked out anew with every answer.

A change answers with the price; the visits load as a piece of their own, so that the
price waits for no calendar. Every change is kept as a draft before anything else.
"""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST
from django_htmx.http import replace_url, trigger_client_event

from scheduling.models import CallDraft, CallState
from scheduling.selectors.drafts import draft_found
from scheduling.web.desk_call import (
    Call,
    call_of,
    find_offers,
    keep,
    place,
    text_of,
    work_out,
)
from scheduling.web.desk_do import ENDS, address_of, desk_do
from scheduling.web.desk_shown import shown, shown_callers, shown_visits
from shop.access import DESK, MemberRequest, member_required
from shop.refusals import Conflict, Refused
from shop.web.pages import page


@member_required(DESK)
@require_http_methods(["GET", "POST"])
def desk(request: MemberRequest) -> HttpResponse:
    """Show the desk; with ``do``, make or send the quote or book the visit."""
    now = timezone.now()
    try:
        if request.method == "GET":
            return _opened(request)
        call = call_of(request, request.POST, now)
    except Refused as refused:
        return page(request, "partials/not_ready.html", {"why": str(refused)}, status=409)
    keep(request, call, now)
    work_out(request, call, now)
    if request.htmx:
        return _changed(request, call)
    if request.POST.get("do") in ENDS:
        return _done(request, call, request.POST["do"])
    if request.POST.get("do") == "look":
        # Without scripts nothing else would ask for the visits.
        find_offers(request, call, now)
    return page(request, "desk/desk.html", shown(request, call, now))


def _opened(request: MemberRequest) -> HttpResponse:
    """A new call, one from a link, or one that was under way."""
    now = timezone.now()
    given: QueryDict = request.GET
    over = _draft(request, given.get("done", ""))
    draft = _draft(request, given.get("call", ""))
    if draft is not None and draft.state == CallState.FINISHED:
        return redirect(f"{reverse('desk')}?done={draft.key}")
    if given.get("call") and (draft is None or draft.state != CallState.OPEN):
        messages.warning(request, _("That call is not open any more."))
        return redirect("desk")
    if draft is not None:
        given = QueryDict(mutable=True)
        for name, values in draft.form.items():
            given.setlist(name, values)
    call = call_of(request, given, now, draft)
    if draft is not None and draft.member_id != request.member.pk:
        call.not_kept = _("%s has this call in hand; take it over to go on with it.") % (
            draft.member.name
        )
    work_out(request, call, now)
    over = over if over is not None and over.job is not None else None
    return page(request, "desk/desk.html", {**shown(request, call, now), "over": over})


def _draft(request: MemberRequest, key: str) -> CallDraft | None:
    try:
        return draft_found(request.member.shop, UUID(key)) if key else None
    except ValueError:
        return None


def _changed(request: MemberRequest, call: Call) -> HttpResponse:
    """The price of a change; the visits are asked for where they may be others."""
    context = shown(request, call, timezone.now(), whole=False)
    answer = page(request, "desk/change.html", context)
    if call.kept_at:
        replace_url(answer, address_of("call", call))
    if call.estimate is not None and call.form.said("looked") != call.looks_for():
        trigger_client_event(answer, "visits", {}, after="settle")
    return answer


def _done(request: MemberRequest, call: Call, what: str) -> HttpResponse:
    """Do it and go on, or show the desk again with what stands in the way."""
    now = timezone.now()
    status = 400
    try:
        done = desk_do(request, call, what, now)
    except Conflict as refused:
        call.problem, status = text_of(refused), refused.status
    except Refused as refused:
        place(call, refused)
        status = refused.status
    else:
        if done is not None:
            return done
        status = 400 if call.problem or call.form.errors else 200
    return page(request, "desk/desk.html", shown(request, call, now), status=status)


@member_required(DESK)
@require_POST
def desk_visits(request: MemberRequest) -> HttpResponse:
    """The visits that are free for what stands in the fields, as a piece of the page."""
    now = timezone.now()
    try:
        call = call_of(request, request.POST, now)
    except Refused as refused:
        return page(request, "partials/not_ready.html", {"why": str(refused)}, status=409)
    work_out(request, call, now)
    find_offers(request, call, now)
    return page(request, "desk/visits.html", shown_visits(call, now))


@member_required(DESK)
@require_POST
def desk_callers(request: MemberRequest) -> HttpResponse:
    """Who fits what was typed so far; what was typed is kept like any other change."""
    now = timezone.now()
    try:
        call = call_of(request, request.POST, now)
    except Refused as refused:
        return page(request, "partials/not_ready.html", {"why": str(refused)}, status=409)
    keep(request, call, now)
    answer = page(request, "desk/callers.html", shown_callers(request, call))
    return replace_url(answer, address_of("call", call)) if call.kept_at else answer


@member_required(DESK)
@require_POST
def desk_keep(request: MemberRequest) -> HttpResponse:
    """Keep what was typed last by somebody who is leaving the page; shows nothing."""
    now = timezone.now()
    try:
        keep(request, call_of(request, request.POST, now), now)
    except Refused:
        return HttpResponse(status=409)
    return HttpResponse(status=204)
