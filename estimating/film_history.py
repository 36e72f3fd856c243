"""What was found at a vehicle, with what is known of it and of the gauge from before."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from statistics import fmean
from typing import Any, Final
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet, Subquery

from estimating.core.units import from_um, to_um
from estimating.models import Gauge, GaugeCalibration, Inspection, PanelFinding
from shop.months import whole_months

MOST_EARLIER: Final = 50  # what a document may hold for a panel
_DEFECT_FIELDS: Final = ("kind", "severity", "extent", "count", "local_reading")
# When a gauge was calibrated, and pairs of true and read thickness in micrometres.
Calibrated = tuple[datetime, list[list[float]]] | None
_DECIMALS: Final = {"mil": 5, "um": 3}


def last_calibration(gauge: int | Gauge | None, at: datetime) -> QuerySet[GaugeCalibration]:
    """The last calibration at or before a moment, as at most one row.

    What was calibrated later says nothing about what was measured then.
    """
    return GaugeCalibration.objects.filter(gauge=gauge, at__lte=at)[:1]


def gauge_part(
    gauge: Gauge, *, unit: str, at: datetime, zone: ZoneInfo, last: Calibrated
) -> dict[str, Any]:
    """The ``gauge`` of a document: stated error, and its last calibration if there was one.

    Parameters
    ----------
    unit
        Of the document; shims are written in it.
    at
        When was measured.
    zone
        The shop's, in which days are counted.
    last
        When the gauge was calibrated, and on which shims.
    """
    part: dict[str, Any] = {
        "repeatability_um": gauge.repeatability_um,
        "accuracy_um": gauge.accuracy_um,
        "accuracy_share": gauge.accuracy_share,
    }
    if last is not None:
        days = at.astimezone(zone).date() - last[0].astimezone(zone).date()
        shims = [[_film(value, unit) for value in pair] for pair in last[1]]
        part["calibration"] = {"days_ago": days.days, "shims": shims}
    return part


@dataclass
class Found:
    """Panels of an inspection as a document has them, and its gauge's last calibration."""

    panels: dict[str, dict[str, Any]] = field(default_factory=dict)
    calibrated: Calibrated = None


def found_at(inspection: Inspection) -> Found:
    """What was found, with film of earlier inspections of the vehicle. One query.

    Inspections of the same month are left out: nothing can be said about a rate.
    Where there are more than a document may hold, the first and the latest stay.
    """
    found = Found()
    earlier: dict[str, dict[int, dict[str, Any]]] = {}
    for row in _rows(inspection):
        if row["inspection"] != inspection.pk:
            seen = _earlier(row, inspection)
            if seen is not None:
                earlier.setdefault(row["panel"], {})[row["inspection"]] = seen
            continue
        if row["calibrated_at"] is not None:
            found.calibrated = (row["calibrated_at"], row["calibrated_on"])
        bare = {key: row[key] for key in ("panel", "substrate", "spots")}
        part = found.panels.setdefault(row["panel"], {**bare, "defects": [], **kept_parts(row)})
        if row["defects__kind"] is not None:
            defect = {name: row[f"defects__{name}"] for name in _DEFECT_FIELDS}
            part["defects"].append({n: v for n, v in defect.items() if v not in (None, "")})
    for panel, part in found.panels.items():
        if panel in earlier:
            part["earlier"] = _few(list(earlier[panel].values()))
    return found


def _rows(inspection: Inspection) -> Iterable[dict[str, Any]]:
    """Findings of a vehicle up to an inspection: one row a defect, or one without."""
    last = last_calibration(inspection.gauge_id, inspection.taken_at)
    before = Q(
        inspection__vehicle=inspection.vehicle_id,
        inspection__shop=inspection.shop_id,
        inspection__taken_at__lt=inspection.taken_at,
    )
    return (
        PanelFinding.objects.filter(before | Q(inspection=inspection.pk))
        .annotate(
            # Of no row in particular, so worked out once, and one query is saved.
            calibrated_at=Subquery(last.values("at")),
            calibrated_on=Subquery(last.values("shims_um")),
        )
        .order_by("inspection__taken_at", "inspection", "sequence", "defects__pk")
        .values(
            "inspection", "inspection__unit", "inspection__taken_at",
            "panel", "substrate", "spots", "covered", "test_spot",
            "calibrated_at", "calibrated_on",
            *(f"defects__{name}" for name in _DEFECT_FIELDS),
        )
    )  # fmt: skip


def _earlier(row: Mapping[str, Any], inspection: Inspection) -> dict[str, Any] | None:
    """Mean film of a panel then; None where no paint was read, or only just now."""
    zone = inspection.shop.tz
    then, today = (at.astimezone(zone) for at in (row["inspection__taken_at"], inspection.taken_at))
    months = whole_months(then.date(), today.date())
    if months < 1 or not row["spots"] or row["covered"] or row["substrate"] == "composite":
        return None
    film_um = to_um(fmean(map(fmean, row["spots"])), row["inspection__unit"])
    return {"months_ago": months, "film": _film(film_um, inspection.unit)}


def _few(parts: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return parts if len(parts) <= MOST_EARLIER else [parts[0], *parts[1 - MOST_EARLIER :]]


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
