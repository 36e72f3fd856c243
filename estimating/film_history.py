"""Reads about a gauge and a vehicle that go into a document beside what was found now."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from statistics import fmean
from typing import Any, Final
from zoneinfo import ZoneInfo

from estimating.core.units import from_um, to_um
from estimating.models import Gauge, GaugeCalibration, Inspection, PanelFinding

MOST_EARLIER: Final = 50  # what a document may hold for a panel
_DECIMALS: Final = {"mil": 5, "um": 3}


def gauge_part(gauge: Gauge, *, unit: str, at: datetime, zone: ZoneInfo) -> dict[str, Any]:
    """The ``gauge`` of a document: stated error, and its last calibration. One query.

    Parameters
    ----------
    unit
        Of the document; shims are written in it.
    at
        When was measured: what was calibrated later says nothing about it.
    zone
        The shop's, in which days are counted.
    """
    part: dict[str, Any] = {
        "repeatability_um": gauge.repeatability_um,
        "accuracy_um": gauge.accuracy_um,
        "accuracy_share": gauge.accuracy_share,
    }
    last = GaugeCalibration.objects.filter(gauge=gauge, at__lte=at).first()
    if last is not None:
        days = at.astimezone(zone).date() - last.at.astimezone(zone).date()
        shims = [[_film(value, unit) for value in pair] for pair in last.shims_um]
        part["calibration"] = {"days_ago": days.days, "shims": shims}
    return part


def earlier_parts(inspection: Inspection, *, zone: ZoneInfo) -> dict[str, list[dict[str, Any]]]:
    """Mean film of each panel at the vehicle's inspections before this one. One query.

    Inspections of the same month are left out: nothing can be said about a rate.
    Where there are more than a document may hold, the first and the latest stay.
    """
    rows = (
        PanelFinding.objects.filter(
            inspection__vehicle=inspection.vehicle_id,
            inspection__shop=inspection.shop_id,
            inspection__taken_at__lt=inspection.taken_at,
            covered=False,
        )
        .exclude(substrate="composite")
        .order_by("inspection__taken_at", "pk")
        .values_list("panel", "spots", "inspection__unit", "inspection__taken_at")
    )
    today = inspection.taken_at.astimezone(zone).date()
    found: dict[str, list[dict[str, Any]]] = {}
    for panel, spots, unit, taken_at in rows:
        months = whole_months(taken_at.astimezone(zone).date(), today)
        if spots and months >= 1:
            film_um = to_um(fmean(map(fmean, spots)), unit)
            said = {"months_ago": months, "film": _film(film_um, inspection.unit)}
            found.setdefault(panel, []).append(said)
    return {panel: _few(parts) for panel, parts in found.items()}


def _few(parts: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return parts if len(parts) <= MOST_EARLIER else [parts[0], *parts[1 - MOST_EARLIER :]]


def whole_months(first: date, last: date) -> int:
    """Whole calendar months from ``first`` to ``last``."""
    months = (last.year - first.year) * 12 + last.month - first.month
    return months - (last.day < first.day)


def kept_parts(panel: Mapping[str, Any]) -> dict[str, Any]:
    """What a panel of a document has besides readings and findings, where it has any."""
    found: dict[str, Any] = {}
    if panel.get("covered"):
        found["covered"] = True
    if panel.get("test_spot"):
        found["test_spot"] = panel["test_spot"]
    return found


def _film(film_um: float, unit: str) -> float:
    return round(from_um(film_um, unit), _DECIMALS[unit])
