"""Readings brought into an inspection at once: a gauge's file, or what it copied."""

from __future__ import annotations

from typing import Any, Final

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from estimating.catalogue_kept import catalogue_kept
from estimating.core.catalogue import Catalogue
from estimating.models import Inspection
from estimating.readings_file import MOST_BYTES, ReadingsRead, readings_read, text_from
from estimating.selectors import local_day
from estimating.services.inspections import inspection_save
from estimating.web.readings import spots_of, text_of
from estimating.web.sheet import (
    PanelRow,
    Sheet,
    document_of,
    sheet_of,
    show_refusal,
)
from estimating.web.words import PANELS
from shop.access import MemberRequest, member_required
from shop.refusals import Conflict, Refused
from shop.web.pages import page

_SHOWN: Final = 20  # problems that are listed; more help nobody


@member_required()
@require_http_methods(["GET", "POST"])
def readings_in(request: MemberRequest, inspection_id: int) -> HttpResponse:
    """Ask for a file or a column, and add its readings to the inspection."""
    shop, now = request.member.shop, timezone.now()
    rows = Inspection.objects.of(shop).select_related("vehicle__shop", "shop", "gauge")
    found = get_object_or_404(rows, pk=inspection_id)
    try:
        catalogue = catalogue_kept(shop, local_day(shop, now))
    except Refused as refused:
        return page(request, "partials/not_ready.html", {"why": str(refused)}, status=409)
    sheet = sheet_of(found, catalogue)
    given: dict[str, Any] = {"text": "", "first": "", "spots": 2, "replace": False}
    problems: list[str] = []
    if request.method == "POST":
        given = _given(request, problems)
        read = ReadingsRead() if problems else _read(given, sheet)
        problems += [str(problem) for problem in read.problems]
        if not problems:
            _lay(sheet, read, catalogue, replace=given["replace"])
            problems += _save(request, found, sheet, now)
        if not problems:
            count = len(read.panels)
            said = ngettext("Readings of %d panel added.", "Readings of %d panels added.", count)
            messages.success(request, said % count)
            return redirect("inspection", found.pk)
    context = {
        "inspection": found,
        "vehicle": found.vehicle,
        "unit": sheet.unit,
        "walk": [row for row in sheet.rows if row.substrate != "composite"],
        "given": given,
        "problems": problems[:_SHOWN],
        "more": max(len(problems) - _SHOWN, 0),
        "now": now,
    }
    return page(request, "inspection/readings.html", context, status=400 if problems else 200)


def _given(request: MemberRequest, problems: list[str]) -> dict[str, Any]:
    text = request.POST.get("text", "")
    file = request.FILES.get("file")
    if file is not None and (file.size or 0) > MOST_BYTES:
        problems.append(
            _("%(name)s has %(size)d kB; give at most %(most)d kB at a time.")
            % {"name": file.name, "size": (file.size or 0) // 1000, "most": MOST_BYTES // 1000}
        )
    elif file is not None:
        text = text_from(file.read())
    spots = request.POST.get("spots", "")
    return {
        "text": text,
        "first": request.POST.get("first", ""),
        "spots": int(spots) if spots in {"1", "2", "3", "4", "5"} else 2,
        "replace": request.POST.get("replace") == "yes",
    }


def _read(given: dict[str, Any], sheet: Sheet) -> ReadingsRead:
    walk = [row.panel for row in sheet.rows if row.substrate != "composite"]
    start = walk.index(given["first"]) if given["first"] in walk else 0
    names = {code: code for code in PANELS}
    names |= {code.replace("_", " "): code for code in PANELS}
    names |= {str(name).lower(): code for code, name in PANELS.items()}
    return readings_read(
        given["text"],
        unit=sheet.unit,
        names=names,
        walk=walk[start:],
        spots_each=given["spots"],
    )


def _lay(sheet: Sheet, read: ReadingsRead, catalogue: Catalogue, *, replace: bool) -> None:
    """Put the readings on the sheet's rows, after those that stand there or in their place."""
    by_panel = {row.panel: row for row in sheet.rows}
    kinds = {kind.code: kind.substrate for kind in catalogue.panel_kinds}
    for panel, spots in read.panels.items():
        row = by_panel.get(panel)
        if row is None:
            row = PanelRow(panel=panel, substrate=kinds.get(panel, "steel"))
            sheet.rows.append(row)
        before = [] if replace else spots_of(row.readings, sheet.unit)
        row.readings = text_of([*before, *spots])


def _save(request: MemberRequest, found: Inspection, sheet: Sheet, now: Any) -> list[str]:
    document, where = document_of(sheet, {})
    if not sheet.refused:
        try:
            inspection_save(
                vehicle=found.vehicle,
                member=request.member,
                now=now,
                document={"unit": document["unit"], "panels": document["panels"]},
                gauge=found.gauge,
                inspection=found,
                version=found.version,
                notes=found.notes,
                finished=found.finished,
            )
        except Conflict as refused:
            return [str(problem.message) for problem in refused.problems]
        except Refused as refused:
            show_refusal(sheet, where, refused)
    said = [message for messages_ in sheet.errors.values() for message in messages_]
    for row in sheet.rows:
        said += [f"{row.name}: {message}" for message in row.errors]
        said += [f"{row.name}: {message}" for one in row.findings for message in one.errors]
    return said
