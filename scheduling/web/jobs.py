"""Job page: the vehicle's story, money and hours beside it, and what can be done next."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from estimating.web.customer_links import link_shown
from scheduling.services.bookings import booking_cancel
from scheduling.services.floor import job_check_in, job_close, job_hand_over, job_no_show
from scheduling.web.forms import CancelForm, HandOverForm, MaterialForm
from scheduling.web.job_page import job_page_context
from shop.access import DESK, MemberRequest, member_required
from shop.models import Job
from shop.refusals import Refused
from shop.services.work import material_use
from shop.web.pages import add_refusal, page


@require_safe
@member_required()
def job(request: MemberRequest, pk: int) -> HttpResponse:
    """Show one job."""
    return _page(request, pk, timezone.now())


@require_POST
@member_required()
def check_in(request: MemberRequest, pk: int) -> HttpResponse:
    """The vehicle has come."""
    now = timezone.now()

    def run(found: Job) -> str:
        job_check_in(job=found, member=request.member, now=now)
        return _("%s is checked in.") % found.number

    return _act(request, pk, run)


@require_POST
@member_required(DESK)
def hand_over(request: MemberRequest, pk: int) -> HttpResponse:
    """The customer fetches the vehicle."""
    now = timezone.now()
    form = HandOverForm(request.POST)

    def run(found: Job) -> str:
        job_hand_over(job=found, member=request.member, now=now, reason=form.cleaned_data["reason"])
        return _("%s is handed over.") % found.number

    return _act(request, pk, run, hand_over_form=form)


@require_POST
@member_required(DESK)
def close(request: MemberRequest, pk: int) -> HttpResponse:
    """Nothing more is to be done."""
    now = timezone.now()

    def run(found: Job) -> str:
        job_close(job=found, member=request.member, now=now)
        return _("%s is closed.") % found.number

    return _act(request, pk, run)


@require_POST
@member_required(DESK)
def no_show(request: MemberRequest, pk: int) -> HttpResponse:
    """The vehicle did not come."""
    now = timezone.now()

    def run(found: Job) -> str:
        job_no_show(job=found, member=request.member, now=now)
        return _("%s is noted as a no-show; its time is free again.") % found.number

    return _act(request, pk, run)


@require_POST
@member_required(DESK)
def cancel(request: MemberRequest, pk: int) -> HttpResponse:
    """The visit will not take place."""
    now = timezone.now()
    form = CancelForm(request.POST)

    def run(found: Job) -> str:
        booking_cancel(job=found, member=request.member, now=now, why=form.cleaned_data["why"])
        return _("%s is cancelled; its time is free again.") % found.number

    return _act(request, pk, run, cancel_form=form)


@require_POST
@member_required()
def material(request: MemberRequest, pk: int) -> HttpResponse:
    """Something was taken from the shelf."""
    now = timezone.now()
    form = MaterialForm(request.POST, shop=request.member.shop)

    def run(found: Job) -> str:
        item, quantity = form.cleaned_data["consumable"], form.cleaned_data["quantity"]
        material_use(job=found, consumable=item, quantity=quantity, member=request.member, now=now)
        return _("%(quantity)s %(unit)s of %(item)s logged.") % {
            "quantity": f"{quantity.normalize():f}",
            "unit": item.unit,
            "item": item.name,
        }

    return _act(request, pk, run, material_form=form)


def _act(
    request: MemberRequest, pk: int, run: Callable[[Job], str], **form: forms.Form
) -> HttpResponse:
    """Run one service on the job; show what was refused at the form, with what was typed."""
    found = get_object_or_404(Job.objects.of(request.member.shop).select_related("shop"), pk=pk)
    status = 400
    if all(one.is_valid() for one in form.values()):
        try:
            said = run(found)
        except Refused as refused:
            status = refused.status
            for one in form.values():
                add_refusal(one, refused)
            if not form:
                for problem in refused.problems:
                    messages.error(request, problem.message)
        else:
            messages.success(request, said)
            return redirect("job", pk=pk)
    return _page(request, pk, timezone.now(), status, **form)


def _page(
    request: MemberRequest, pk: int, now: datetime, status: int = 200, **form: Any
) -> HttpResponse:
    context = job_page_context(request.member, pk, now)
    if context["may_desk"]:
        context |= link_shown(request, context["quote"])
    return page(request, "job/job.html", {**context, **form}, status=status)
