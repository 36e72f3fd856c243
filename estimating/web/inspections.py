"""The inspection sheet: one address shows it, works it out as it is typed, and saves it."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from estimating.core.options import Options
from estimating.core.result import Estimate
from estimating.models import Gauge, Inspection, Substrate
from estimating.selectors import catalogue_for, local_day, vehicle_part
from estimating.services.estimates import estimate_make
from estimating.services.inspections import inspection_save
from estimating.web.pictures import strips_of
from estimating.web.sheet import (
    Sheet,
    document_of,
    empty_rows,
    goal_of,
    sheet_from,
    sheet_of,
    show_refusal,
)
from estimating.web.words import KINDS, SEVERITIES
from shop.access import DESK, MemberRequest, member_required
from shop.models import FilmUnit, Vehicle
from shop.refusals import Conflict, Refused
from shop.web.pages import page

_CHOICES = {
    "substrates": Substrate.choices,
    "severities": SEVERITIES.items(),
    "units": FilmUnit.choices,
}


@member_required()
@require_http_methods(["GET", "POST"])
def inspection_new(request: MemberRequest, vehicle_id: int) -> HttpResponse:
    """Begin a sheet for a vehicle; it is written down when it is first saved."""
    vehicle = _vehicle(request, vehicle_id)
    return _sheet_page(request, vehicle, None, timezone.now())


@member_required()
@require_http_methods(["GET", "POST"])
def inspection(request: MemberRequest, inspection_id: int) -> HttpResponse:
    """Open a sheet and go on with it."""
    found = get_object_or_404(
        Inspection.objects.of(request.member.shop).select_related(
            "vehicle__customer", "shop", "gauge", "member"
        ),
        pk=inspection_id,
    )
    return _sheet_page(request, found.vehicle, found, timezone.now())


def _vehicle(request: MemberRequest, pk: int) -> Vehicle:
    vehicles = Vehicle.objects.of(request.member.shop).select_related("customer")
    return get_object_or_404(vehicles, pk=pk)


def _sheet_page(
    request: MemberRequest, vehicle: Vehicle, found: Inspection | None, now: datetime
) -> HttpResponse:
    shop = request.member.shop
    catalogue = catalogue_for(shop, local_day(shop, now))
    if found is not None:
        sheet = sheet_of(found, catalogue)
    else:
        sheet = Sheet(unit=shop.film_unit, rows=empty_rows(catalogue, vehicle.body))
    conflict = ""
    status = 200
    if request.method == "POST":
        sheet = sheet_from(request.POST, sheet.rows, sheet.unit)
        live = bool(request.htmx)
        if not live:
            try:
                saved = _save(request, vehicle, found, sheet, now)
            except Conflict as refused:
                conflict, status = str(refused), refused.status
            else:
                if saved is not None:
                    messages.success(request, _("Inspection saved."))
                    return redirect("inspection", saved.pk)
                status = 400
    return _show(request, vehicle, found, sheet, now, status=status, conflict=conflict)


def _save(
    request: MemberRequest,
    vehicle: Vehicle,
    found: Inspection | None,
    sheet: Sheet,
    now: datetime,
) -> Inspection | None:
    """Save a sheet; None where something on it was refused and stands at its field."""
    document, where = document_of(sheet, {})
    del document["vehicle"]
    gauges = Gauge.objects.of(request.member.shop)
    gauge = gauges.filter(pk=sheet.gauge).first() if sheet.gauge.isdecimal() else None
    if sheet.refused:
        return None
    try:
        return inspection_save(
            vehicle=vehicle,
            member=request.member,
            now=now,
            document=document,
            gauge=gauge,
            inspection=found,
            version=int(sheet.version) if sheet.version.isdecimal() else None,
            notes=sheet.notes,
            finished=sheet.finished,
        )
    except Conflict:
        raise
    except Refused as refused:
        show_refusal(sheet, where, refused)
        return None


def _show(
    request: MemberRequest,
    vehicle: Vehicle,
    found: Inspection | None,
    sheet: Sheet,
    now: datetime,
    *,
    status: int,
    conflict: str,
) -> HttpResponse:
    estimate = _worked_out(request, vehicle, found, sheet, now)
    by_panel = {plan.panel: plan for plan in estimate.panels} if estimate else {}
    strips = strips_of(estimate) if estimate else {}
    for row in sheet.rows:
        row.plan = by_panel.get(row.panel)
        row.strip = strips.get(row.panel)
    context: dict[str, Any] = {
        "vehicle": vehicle,
        "inspection": found,
        "sheet": sheet,
        "sides": sheet.sides(),
        "estimate": estimate,
        "live": bool(request.htmx),
        "conflict": conflict,
        "newest_version": _newest_version(found) if conflict else sheet.version,
        "gauges": Gauge.objects.of(request.member.shop).filter(active=True),
        "kinds": KINDS,
        "hours_p10": estimate.minutes.p10 / 60 if estimate else None,
        "hours_p50": estimate.minutes.p50 / 60 if estimate else None,
        "hours_p90": estimate.minutes.p90 / 60 if estimate else None,
        "may_quote": request.member.role in DESK,
        "now": now,
        **_CHOICES,
    }
    return page(request, "inspection/inspection.html", context, status=status)


def _newest_version(found: Inspection | None) -> str:
    if found is None:
        return ""
    return str(Inspection.objects.values_list("version", flat=True).get(pk=found.pk))


def _worked_out(
    request: MemberRequest,
    vehicle: Vehicle,
    found: Inspection | None,
    sheet: Sheet,
    now: datetime,
) -> Estimate | None:
    """What the sheet means so far; panels that are refused are noted and left out."""
    shop = request.member.shop
    day = local_day(shop, found.taken_at if found else now)
    vehicle_facts = {"age_months": 0, **vehicle_part(vehicle, day)}
    # Twice: a panel refused the first time is noted and left out the second.
    for _attempt in range(2):
        document, where = document_of(sheet, vehicle_facts)
        if not document["panels"]:
            return None
        document["goal"] = goal_of(sheet)
        try:
            return estimate_make(shop=shop, document=document, options=Options(), day=day)
        except Refused as refused:
            show_refusal(sheet, where, refused)
    return None
