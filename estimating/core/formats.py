"""Files in and out: `halfmil-inspection/1` is read, `halfmil-estimate/1` is written."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from estimating.core.inspection import Inspection
from estimating.core.jsontext import parsed
from estimating.core.reader import inspection_from
from estimating.core.result import Estimate, PanelPlan
from estimating.core.units import from_um

INSPECTION_FORMAT = "halfmil-inspection/1"
ESTIMATE_FORMAT = "halfmil-estimate/1"

# Film is written to about a nanometre: a unit must not change what is said.
_FILM_DECIMALS = {"mil": 5, "um": 3}


def read_inspection(source: str | bytes | Mapping[str, Any]) -> Inspection:
    """Read an inspection from JSON text, or from an object already parsed.

    Raises
    ------
    InputRefused
        With every problem found: JSON path, value, remedy.
    """
    if isinstance(source, (str, bytes)):
        return inspection_from(parsed(source), INSPECTION_FORMAT)
    return inspection_from(source, INSPECTION_FORMAT)


def write_estimate(estimate: Estimate, unit: str | None = None) -> dict[str, Any]:
    """Write an estimate as the object of `halfmil-estimate/1`.

    Parameters
    ----------
    estimate
        The answer of the core.
    unit
        `mil` or `um` for film; None for the unit of the inspection.
    """
    unit = unit or estimate.unit
    minutes = estimate.minutes
    return {
        "format": ESTIMATE_FORMAT,
        "unit": unit,
        "panels": [_panel(plan, unit) for plan in estimate.panels],
        "cleared": round(estimate.cleared, 4),
        "hours": {
            "p10": round(minutes.p10 / 60, 2),
            "p50": round(minutes.p50 / 60, 2),
            "p90": round(minutes.p90 / 60, 2),
        },
        "materials": [
            {
                "item": line.name,
                "quantity": line.quantity,
                "unit": line.unit,
                "cost": _money(line.cost),
            }
            for line in estimate.materials
        ],
        "cost": {
            "labour": _money(estimate.cost.labour),
            "bay": _money(estimate.cost.bay),
            "materials": _money(estimate.cost.materials),
            "overhead": _money(estimate.cost.overhead),
            "total": _money(estimate.cost.total),
        },
        "price": {
            "currency": estimate.currency,
            "p10": _money(estimate.low.shown),
            "p50": _money(estimate.likely.shown),
            "p90": _money(estimate.high.shown),
            "margin": round(float(estimate.likely.margin), 4),
        },
        "finish_curve": [
            {"cleared": round(point.cleared, 4), "price": _money(point.price)}
            for point in estimate.curve
        ],
        "warnings": list(estimate.warnings),
    }


def _money(amount: Decimal) -> str:
    return f"{amount:f}"


def _film(value_um: float | None, unit: str) -> float | None:
    if value_um is None:
        return None
    return round(from_um(value_um, unit), _FILM_DECIMALS[unit])


def _panel(plan: PanelPlan, unit: str) -> dict[str, Any]:
    return {
        "panel": plan.panel,
        "condition": plan.condition,
        "budget": _film(plan.budget_um, unit),
        "level": plan.level,
        "removal": _film(plan.removal_um, unit),
        "remaining_p05": _film(plan.remainder.p05_um if plan.remainder else None, unit),
        "risk": None if plan.risk is None else round(plan.risk, 6),
        "spot_work": [
            {"kind": work.kind, "method": work.method, "count": work.count}
            for work in plan.spot_work
        ],
        "cleared": round(plan.cleared, 4),
        "reasons": list(plan.reasons),
    }
