"""Today on the floor: start, pause, finish, materials, arrivals and climate by tapping."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from scheduling.models import Resource, ResourceKind
from scheduling.selectors import floor_today
from scheduling.selectors.floor_detail import materials_in_hand, work_fetch
from scheduling.services.floor import (
    climate_log,
    job_check_in,
    work_finish,
    work_pause,
    work_start,
)
from scheduling.services.lamps import lamp_off, lamp_on
from scheduling.web.cautions import DEFER
from scheduling.web.floor_page import Cards, everything_standing, operations_of
from scheduling.web.forms import ClimateForm, MaterialForm
from shop.access import MemberRequest, member_required
from shop.models import Job, Operation
from shop.refusals import Refused
from shop.services.work import material_use
from shop.web.pages import add_refusal, page

STEPS: Final[Mapping[str, Callable[..., object]]] = {
    "start": work_start,
    "pause": work_pause,
    "finish": work_finish,
    "lamp-on": lamp_on,
    "lamp-off": lamp_off,
}


@require_safe
@member_required()
def floor(request: MemberRequest) -> HttpResponse:
    """Show the floor; htmx asks again every twenty seconds."""
    return _page(request)


@require_POST
@member_required()
def work(request: MemberRequest, pk: int, step: str) -> HttpResponse:
    """Start, pause or finish one operation."""
    operation, now = _operation(request, pk), timezone.now()
    if step not in STEPS:
        raise Http404

    def run() -> str:
        STEPS[step](operation=operation, member=request.member, now=now)
        said = {
            "start": _("%s is running."),
            "pause": _("%s is paused."),
            "finish": _("%s is done."),
            "lamp-on": _("%s: the lamp is on."),
            "lamp-off": _("%s: the lamp is off, the forecast follows."),
        }
        return said[step] % operation.name

    return _tapped(request, run)


@require_POST
@member_required()
def check_in(request: MemberRequest, pk: int) -> HttpResponse:
    """A vehicle has come."""
    job = get_object_or_404(Job.objects.of(request.member.shop).select_related("shop"), pk=pk)
    now = timezone.now()

    def run() -> str:
        job_check_in(job=job, member=request.member, now=now)
        return _("%s is checked in.") % job.number

    return _tapped(request, run)


@require_POST
@member_required()
def take(request: MemberRequest, pk: int) -> HttpResponse:
    """Log a portion of an item for the operation in hand."""
    operation, now = _operation(request, pk), timezone.now()
    form = MaterialForm(request.POST, shop=request.member.shop)
    if not form.is_valid():
        messages.error(request, _("This item or quantity cannot be logged."))
        return _answer(request, 400)

    def run() -> str:
        item, quantity = form.cleaned_data["consumable"], form.cleaned_data["quantity"]
        material_use(
            job=operation.job,
            operation=operation,
            consumable=item,
            quantity=quantity,
            member=request.member,
            now=now,
        )
        words = {"quantity": quantity, "unit": item.unit, "item": item.name}
        return _("%(quantity)s %(unit)s of %(item)s logged.") % words

    return _tapped(request, run)


@require_POST
@member_required()
def climate(request: MemberRequest, pk: int) -> HttpResponse:
    """Log air and panel of one bay."""
    bays = Resource.objects.of(request.member.shop).select_related("shop")
    bay = get_object_or_404(bays.filter(kind=ResourceKind.BAY), pk=pk)
    form = ClimateForm(request.POST, prefix=f"bay-{pk}")
    if not form.is_valid():
        return _page(request, status=400, refused={pk: form})
    try:
        logged = climate_log(resource=bay, at=timezone.now(), **form.cleaned_data)
    except Refused as refused:
        add_refusal(form, refused)
        return _page(request, status=refused.status, refused={pk: form})
    messages.success(request, _("Climate of %s logged.") % bay.name)
    for warning in logged.warnings:
        messages.warning(request, warning)
    return _answer(request, 200)


def _operation(request: MemberRequest, pk: int) -> Operation:
    rows = Operation.objects.filter(job__shop=request.member.shop).select_related("job__shop")
    return get_object_or_404(rows, pk=pk)


def _tapped(request: MemberRequest, run: Callable[[], str]) -> HttpResponse:
    status = 200
    try:
        messages.success(request, run())
    except Refused as refused:
        status = refused.status
        for problem in refused.problems:
            messages.error(request, problem.message)
    return _answer(request, status)


def _answer(request: MemberRequest, status: int) -> HttpResponse:
    """The floor as it is now for htmx; back to it for a plain form that went well."""
    if status == 200 and not request.htmx:
        return redirect("floor")
    return _page(request, status=status)


def _page(
    request: MemberRequest,
    *,
    status: int = 200,
    refused: dict[int, ClimateForm] | None = None,
) -> HttpResponse:
    read = floor_today(request.member.shop, timezone.now())
    standing = everything_standing(read)
    work_fetch(operations_of(standing))
    materials = materials_in_hand(one.job for one in standing)
    cards = Cards(read, request.member, materials, refused or {})
    context = {
        "now": read.now,
        "cards": cards.all(),
        "crew": cards.crew,
        "arrivals": read.arrivals,
        "waiting": cards.waiting(),
        "defer": DEFER,
    }
    return page(request, "floor/floor.html", context, status=status)
