"""A better week, or trouble mended: ask, watch, stop, then accept lines of it or leave it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from scheduling import launch
from scheduling.models import PlanRun, PlanRunKind
from scheduling.services.answers import answer_accept
from scheduling.services.planruns import planrun_ask, planrun_leave, planrun_stop
from scheduling.web.plan_page import plan_page
from shop.access import DESK, MemberRequest, member_required
from shop.refusals import Refused
from shop.web.pages import page


@require_POST
@member_required(DESK)
def plan_ask(request: MemberRequest) -> HttpResponse:
    """Ask for a search and go to where it can be watched."""
    kind = request.POST.get("kind", "")
    if kind not in PlanRunKind.values:
        kind = PlanRunKind.IMPROVE
    try:
        run = planrun_ask(
            member=request.member,
            kind=kind,
            now=timezone.now(),
            seconds=_whole(request, "seconds", 20),
            most_moved=_whole(request, "most_moved", 2),
        )
    except Refused as refused:
        _say(request, refused)
        there = PlanRun.objects.of(request.member.shop).filter(ended_at=None).first()
        return redirect("plan", pk=there.pk) if there else redirect("calendar")
    transaction.on_commit(lambda: launch.launch(run.pk))
    return redirect("plan", pk=run.pk)


@require_safe
@member_required(DESK)
def plan(request: MemberRequest, pk: int) -> HttpResponse:
    """Show how far a search is or, when it is over, what it proposes."""
    return _page(request, _run(request, pk))


@require_POST
@member_required(DESK)
def plan_stop(request: MemberRequest, pk: int) -> HttpResponse:
    """Stop a search; what it has found is kept."""
    planrun_stop(run=_run(request, pk), now=timezone.now())
    return redirect("plan", pk=pk)


@require_POST
@member_required(DESK)
def plan_leave(request: MemberRequest, pk: int) -> HttpResponse:
    """Leave the calendar as it is."""
    try:
        planrun_leave(run=_run(request, pk), member=request.member, now=timezone.now())
    except Refused as refused:
        _say(request, refused)
        return redirect("plan", pk=pk)
    messages.success(request, _("Nothing was moved."))
    return redirect("calendar")


@require_POST
@member_required(DESK)
def plan_accept(request: MemberRequest, pk: int) -> HttpResponse:
    """Move the vehicles that are ticked; all of them or, where one cannot be, none."""
    run = _run(request, pk)
    try:
        moved = answer_accept(
            run=run,
            key=request.POST.get("answer", ""),
            chosen=set(request.POST.getlist("chosen")),
            member=request.member,
            now=timezone.now(),
        )
    except Refused as refused:
        _say(request, refused)
        return _page(request, _run(request, pk), status=refused.status)
    text = ngettext("%d vehicle moved.", "%d vehicles moved.", len(moved)) % len(moved)
    messages.success(request, text)
    return redirect("calendar")


def _run(request: MemberRequest, pk: int) -> PlanRun:
    rows = PlanRun.objects.of(request.member.shop).select_related("member", "answered_by", "shop")
    return get_object_or_404(rows, pk=pk)


def _page(request: MemberRequest, run: PlanRun, *, status: int = 200) -> HttpResponse:
    context: dict[str, Any] = {"run": run, **plan_page(run, timezone.now())}
    return page(request, "calendar/plan.html", context, status=status)


def _whole(request: HttpRequest, name: str, default: int) -> int:
    """Return a number of the form; nonsense is refused by the service as out of bounds."""
    text = request.POST.get(name, "")
    if not text:
        return default
    return int(text) if text.isascii() and text.isdigit() and len(text) < 6 else -1


def _say(request: HttpRequest, refused: Refused) -> None:
    for problem in refused.problems:
        messages.error(request, problem.message)
