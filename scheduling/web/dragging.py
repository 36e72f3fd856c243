"""A visit dragged in the calendar: asked while it is held, written when it is confirmed."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django import forms
from django.http import JsonResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from scheduling.models import ReminderPurpose
from scheduling.services.offers import Offer
from scheduling.services.purposes import channel_for
from scheduling.services.visit_drag import Shown, visit_back, visit_put, visit_try
from scheduling.web.forms import PutForm, TryForm
from shop.access import DESK, MemberRequest, member_required
from shop.models import Job
from shop.refusals import Refused
from shop.web import show


@require_safe
@member_required(DESK)
def visit_fit(request: MemberRequest, pk: int) -> JsonResponse:
    """Say where a visit would land if it were let go at ``?at=`` (and ``&bay=``), or why not."""
    now = timezone.now()
    job = _job(request, pk)
    form = TryForm(request.GET, shop=job.shop)
    if not form.is_valid():
        return _no(_problems(form), 400)
    trial = visit_try(job=job, at=form.cleaned_data["at"], bay=form.cleaned_data["bay"], now=now)
    if trial.offer is None:
        return JsonResponse({"fits": False, "said": " ".join(trial.reasons)})
    return JsonResponse({"fits": True, **_landing(job, trial.offer, now)})


@require_POST
@member_required(DESK)
def visit_move(request: MemberRequest, pk: int) -> JsonResponse:
    """Move a visit to where it was shown to land."""
    now = timezone.now()
    job = _job(request, pk)
    form = PutForm(request.POST, shop=job.shop)
    if not form.is_valid():
        return _no(_problems(form), 400)
    given = form.cleaned_data
    try:
        back = visit_put(
            job=job,
            member=request.member,
            now=now,
            at=given["at"],
            bay=given["bay"],
            shown=Shown(given["seen"], given["arrives"], given["promised"]),
            why=given["why"],
        )
    except Refused as refused:
        return _no((problem.message for problem in refused.problems), refused.status)
    words = {"job": job.number, "when": show.when_text(given["arrives"], job.shop.tz, now)}
    return JsonResponse({"said": _("%(job)s now arrives %(when)s.") % words, "back": back})


@require_POST
@member_required(DESK)
def visit_return(request: MemberRequest) -> JsonResponse:
    """Put a visit back to where it was before it was moved by hand."""
    now = timezone.now()
    try:
        job = visit_back(token=request.POST.get("back", ""), member=request.member, now=now)
    except Refused as refused:
        return _no((problem.message for problem in refused.problems), refused.status)
    words = {"job": job.number, "when": show.when_text(job.arrives_at, job.shop.tz, now)}
    return JsonResponse({"said": _("%(job)s is back where it was: it arrives %(when)s.") % words})


def _job(request: MemberRequest, pk: int) -> Job:
    rows = Job.objects.of(request.member.shop).select_related("vehicle", "customer", "shop")
    return get_object_or_404(rows, pk=pk)


def _landing(job: Job, offer: Offer, now: datetime) -> dict[str, Any]:
    """What a confirmation needs to say, and where the visit is drawn meanwhile."""
    tz = job.shop.tz
    bays = ", ".join(dict.fromkeys(step.bay for step in offer.steps))
    words = {
        "arrives": show.when_text(offer.arrives_at, tz, now),
        "promised": show.when_text(offer.promised_at, tz, now),
        "sure": show.sure_text(offer.promise_probability or 0),
        "bays": bays,
    }
    said = _("Comes %(arrives)s, %(bays)s; pick-up promised %(promised)s, %(sure)s.") % words
    before = {
        "arrives": show.when_text(job.arrives_at, tz, now),
        "promised": show.when_text(job.promised_at, tz, now),
    }
    return {
        "said": " ".join([said, *offer.notes]),
        "title": _("Move %s?") % f"{job.number}, {job.vehicle.description}",
        "before": _("Now: comes %(arrives)s, promised %(promised)s.") % before,
        "told": _told(job, offer),
        "arrives": offer.arrives_at.isoformat(),
        "promised": offer.promised_at.isoformat(),
        "seen": job.arrives_at.isoformat() if job.arrives_at else "",
        "stays": [
            [held.resource.pk, _minute(held.start), _minute(held.end)]
            for held in offer.holds
            if held.sequence is None
        ],
    }


def _told(job: Job, offer: Offer) -> str:
    """Whether the customer hears of it from us."""
    if (offer.arrives_at, offer.promised_at) == (job.arrives_at, job.promised_at):
        return _("The customer’s times stay the same.")
    if channel_for(job.customer, ReminderPurpose.CONFIRM) is None:
        return _("! %s has not agreed to messages: tell them yourself.") % job.customer.name
    return _("%s is written to with the new times.") % job.customer.name


def _minute(at: datetime) -> int:
    return int(at.timestamp() // 60)


def _problems(form: forms.Form) -> list[str]:
    return [f"{name}: {text}" for name, texts in form.errors.items() for text in texts]


def _no(said: Iterable[str], status: int) -> JsonResponse:
    return JsonResponse({"fits": False, "said": " ".join(said)}, status=status)
