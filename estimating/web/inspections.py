"""The inspection sheet: one address shows it, works it out as it is typed, and saves it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.db.models import Q
from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from estimating.catalogue_kept import catalogue_kept
from estimating.core.catalogue import Catalogue
from estimating.core.options import Options
from estimating.core.result import Estimate
from estimating.film_history import gauge_part, last_calibration
from estimating.models import Gauge, Inspection, Substrate
from estimating.photos_shown import photos_of
from estimating.selectors import local_day, vehicle_part
from estimating.services.estimates import estimate_make
from estimating.services.inspections import Sent, inspection_save
from estimating.web.clashes import Clash, clashes_of, take_chosen
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
from estimating.web.words import KINDS, LEVELS, SEVERITIES
from shop.access import DESK, MemberRequest, member_required
from shop.models import FilmUnit, Vehicle
from shop.refusals import Conflict, Refused
from shop.web.pages import page

_MOST_TRIED = 50  # saves of which nothing was heard
_CHOICES = {
    "substrates": Substrate.choices,
    "severities": SEVERITIES.items(),
    "tried": [(code, name) for code, name in LEVELS.items() if code != "none"],
    "units": FilmUnit.choices,
}


@dataclass(frozen=True)
class Work:
    """What every step of one request needs."""

    request: MemberRequest
    vehicle: Vehicle
    inspection: Inspection | None
    catalogue: Catalogue
    now: datetime


@member_required()
@require_http_methods(["GET", "POST"])
def inspection_new(request: MemberRequest, vehicle_id: int) -> HttpResponse:
    """Begin a sheet for a vehicle; it is written down when it is first saved."""
    rows = Vehicle.objects.of(request.member.shop).select_related("customer", "shop")
    return _sheet_page(request, get_object_or_404(rows, pk=vehicle_id), None)


@member_required()
@require_http_methods(["GET", "POST"])
def inspection(request: MemberRequest, inspection_id: int) -> HttpResponse:
    """Open a sheet and go on with it."""
    rows = Inspection.objects.of(request.member.shop).select_related(
        "vehicle__customer", "vehicle__shop", "shop", "gauge", "member"
    )
    found = get_object_or_404(rows, pk=inspection_id)
    return _sheet_page(request, found.vehicle, found)


def _sheet_page(request: MemberRequest, vehicle: Vehicle, found: Inspection | None) -> HttpResponse:
    shop, now = request.member.shop, timezone.now()
    try:
        catalogue = catalogue_kept(shop, local_day(shop, now))
    except Refused as refused:
        return page(request, "partials/not_ready.html", {"why": str(refused)}, status=409)
    work = Work(request, vehicle, found, catalogue, now)
    if found is not None:
        sheet = sheet_of(found, catalogue)
    else:
        sheet = Sheet(unit=shop.film_unit, rows=empty_rows(catalogue, vehicle.body))
    if request.method != "POST":
        return _show(work, sheet)
    saved_rows, saved_unit = sheet.rows, sheet.unit
    sheet = sheet_from(request.POST, sheet.rows, sheet.unit)
    if sheet.unit == saved_unit:
        take_chosen(request.POST, sheet, saved_rows)
    if request.htmx:
        return _show(work, sheet)
    try:
        saved = _save(work, sheet)
    except Conflict as refused:
        return _show(work, sheet, status=refused.status, conflict=str(refused))
    return _show(work, sheet, status=400) if saved is None else _saved(request, saved)


def _saved(request: MemberRequest, saved: Inspection) -> HttpResponse:
    messages.success(request, _("Inspection saved."))
    go_on = _next(request.POST.get("save", ""), saved)
    if request.headers.get("Accept") == "application/json":
        # The page's script, which keeps what was typed until it hears this.
        return JsonResponse({"go": go_on})
    return redirect(go_on)


def _next(wish: str, saved: Inspection) -> str:
    """Where saving leads: the sheet, or what was asked for at the same time."""
    if wish.startswith("photos:"):
        return f"{reverse('photos', args=[saved.pk])}?{urlencode({'panel': wish[7:]})}"
    if wish == "readings":
        return reverse("readings_in", args=[saved.pk])
    return reverse("inspection", args=[saved.pk])


def _save(work: Work, sheet: Sheet) -> Inspection | None:
    """Save a sheet; None where something on it was refused and stands at its field."""
    document, where = document_of(sheet, {})
    if sheet.refused:
        return None
    try:
        return inspection_save(
            vehicle=work.vehicle,
            member=work.request.member,
            now=work.now,
            document={"unit": document["unit"], "panels": document["panels"]},
            gauge=_gauge(work, sheet),
            inspection=work.inspection,
            version=int(sheet.version) if sheet.version.isdecimal() else None,
            notes=sheet.notes,
            finished=sheet.finished,
            sent=Sent(
                token=work.request.POST.get("token", "")[:40],
                after=tuple(work.request.POST.get("after", "").split()[-_MOST_TRIED:]),
            ),
        )
    except Conflict:
        raise
    except Refused as refused:
        show_refusal(sheet, where, refused)
        return None


def _gauge(work: Work, sheet: Sheet) -> Gauge | None:
    """The gauge chosen on the sheet; the one it was saved with needs no query."""
    if not sheet.gauge.isdecimal():
        return None
    pk = int(sheet.gauge)
    if work.inspection is not None and work.inspection.gauge_id == pk:
        return work.inspection.gauge
    return Gauge.objects.of(work.request.member.shop).filter(pk=pk).first()


def _show(work: Work, sheet: Sheet, *, status: int = 200, conflict: str = "") -> HttpResponse:
    estimate = _worked_out(work, sheet)
    plans = {plan.panel: plan for plan in estimate.panels} if estimate else {}
    strips = strips_of(estimate) if estimate else {}
    for row in sheet.rows:
        row.plan, row.strip = plans.get(row.panel), strips.get(row.panel)
    if work.inspection is not None and not work.request.htmx:
        _place_photos(work.inspection, sheet)
    minutes = estimate.minutes if estimate else None
    context: dict[str, Any] = {
        "vehicle": work.vehicle,
        "inspection": work.inspection,
        "sheet": sheet,
        "sides": sheet.sides(),
        "estimate": estimate,
        "live": bool(work.request.htmx),
        "conflict": conflict,
        "typed": work.request.method == "POST",
        "clashes": _clashes(work, sheet) if conflict else [],
        "newest_version": _newest_version(work) if conflict else sheet.version,
        "gauges": Gauge.objects.of(work.request.member.shop).filter(active=True),
        "kinds": KINDS,
        "hours": [part / 60 for part in (minutes.p10, minutes.p50, minutes.p90)]
        if minutes
        else None,
        "may_quote": work.request.member.role in DESK,
        "now": work.now,
        **_CHOICES,
    }
    return page(work.request, "inspection/inspection.html", context, status=status)


def _place_photos(inspection: Inspection, sheet: Sheet) -> None:
    by_panel = {row.panel: row for row in sheet.rows}
    for photo in photos_of(Q(inspection=inspection)):
        row = by_panel.get(photo.panel)
        (sheet.photos if row is None else row.photos).append(photo)


def _clashes(work: Work, sheet: Sheet) -> list[Clash]:
    """What differs from the saved sheet; only where both are in one unit."""
    if work.inspection is None or work.inspection.unit != sheet.unit:
        return []
    return clashes_of(sheet, sheet_of(work.inspection, work.catalogue))


def _newest_version(work: Work) -> str:
    """The version that saving over somebody else's takes the place of."""
    if work.inspection is None:
        return ""
    rows = Inspection.objects.filter(pk=work.inspection.pk)
    return str(rows.values_list("version", flat=True).get())


def _read_by(gauge: Gauge, unit: str, at: datetime, zone: ZoneInfo) -> dict[str, Any]:
    last = last_calibration(gauge, at).first()
    calibrated = (last.at, last.shims_um) if last else None
    return gauge_part(gauge, unit=unit, at=at, zone=zone, last=calibrated)


def _worked_out(work: Work, sheet: Sheet) -> Estimate | None:
    """What the sheet means so far; panels that are refused are noted and left out."""
    shop = work.request.member.shop
    taken_at = work.inspection.taken_at if work.inspection else work.now
    day = local_day(shop, taken_at)
    vehicle = {"age_months": 0, **vehicle_part(work.vehicle, day)}
    gauge = _gauge(work, sheet)
    read_by = _read_by(gauge, sheet.unit, taken_at, shop.tz) if gauge else None
    # Twice: a panel refused the first time is noted and left out the second.
    for _attempt in range(2):
        document, where = document_of(sheet, vehicle)
        if not document["panels"]:
            return None
        document["goal"] = goal_of(sheet)
        if read_by:
            document["gauge"] = read_by
        try:
            return estimate_make(
                shop=shop,
                document=document,
                options=Options(),
                day=day,
                catalogue=work.catalogue,
            )
        except Refused as refused:
            show_refusal(sheet, where, refused)
    return None
