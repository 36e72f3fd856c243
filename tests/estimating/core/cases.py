"""Made-up findings for the tests of the estimating core."""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from estimating.core.catalogue import Catalogue, catalogue_from_text
from estimating.core.estimate import estimate
from estimating.core.formats import read_inspection, write_estimate
from estimating.core.options import Options
from estimating.core.result import Estimate
from estimating.core.terms import ShopTerms

FIXTURES = Path(__file__).parents[3] / "fixtures"

TERMS = ShopTerms(
    currency="USD",
    minor_units=2,
    labour_rate=Decimal("34.00"),
    bay_rate=Decimal("9.00"),
    overhead_rate=Decimal("0.55"),
    card_fee_share=Decimal("0.029"),
    tax_rate=Decimal("0.0825"),
    tax_inclusive=False,
    target_margin=Decimal("0.40"),
    floor_margin=Decimal("0.25"),
    rounding_step=Decimal("5.00"),
    deposit_share=Decimal("0.25"),
)


@cache
def catalogue() -> Catalogue:
    """The demo shop's catalogue."""
    return catalogue_from_text((FIXTURES / "catalogue.json").read_text(encoding="utf-8"))


def swirls(severity: str = "light", extent: float = 0.6) -> dict[str, Any]:
    return {"kind": "swirl_marks", "severity": severity, "extent": extent}


def scratch(local: float | None = None, count: int = 1) -> dict[str, Any]:
    found: dict[str, Any] = {"kind": "deep_scratch", "count": count}
    return found if local is None else {**found, "local_reading": local}


def panel(
    name: str = "hood",
    film: float = 4.5,
    defects: list[dict[str, Any]] | None = None,
    substrate: str = "steel",
    spots: list[list[float]] | None = None,
) -> dict[str, Any]:
    """A panel with three even spots at one film, unless spots are given."""
    if spots is None:
        spots = [] if substrate == "composite" else [[film] * 3] * 3
    return {
        "panel": name,
        "substrate": substrate,
        "spots": spots,
        "defects": [swirls()] if defects is None else defects,
    }


def document(*panels: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """An inspection file as an object; the goal is to clear 60 % unless changed."""
    made: dict[str, Any] = {
        "format": "halfmil-inspection/1",
        "unit": "mil",
        "vehicle": {"body": "sedan", "age_months": 12, "paint": {"hardness": "medium"}},
        "panels": list(panels),
        "goal": {"cleared": 0.6},
    }
    return made | changes


def estimated(
    source: dict[str, Any], options: Options | None = None, tables: Catalogue | None = None
) -> Estimate:
    """The estimate of an inspection file, under the demo shop's catalogue unless given."""
    return estimate(read_inspection(source), tables or catalogue(), TERMS, options)


def written(source: dict[str, Any], options: Options | None = None) -> dict[str, Any]:
    """The same as the object a file would hold."""
    return write_estimate(estimated(source, options))
