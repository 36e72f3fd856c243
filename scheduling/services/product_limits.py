"""The climate that a job's own coating stands: as quoted, from the product's data sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.db.models import F

from scheduling.core.climate import DEW_MARGIN_C, MAX_HUMIDITY_PERCENT, ClimateLimits


@dataclass(frozen=True)
class ProductLimits:
    """A coating system by name, and the limits of its application."""

    name: str
    limits: ClimateLimits


_PATHS: Final = {
    "coating_code": "quote__request__options__coating",
    "coating_rows": "quote__parameters__catalogue__coating_systems",
}
COATING: Final = {name: F(path) for name, path in _PATHS.items()}
"""What a query of jobs is annotated with for :func:`limits_quoted`: no rows of its own."""
COATING_OF_HOLD: Final = {name: F(f"job__{path}") for name, path in _PATHS.items()}


def limits_quoted(annotated: Any) -> ProductLimits | None:
    """Return the limits of the quoted coating system, or None where none was quoted.

    Parameters
    ----------
    annotated
        A row that was read with :data:`COATING`: the code on the quote, and the coating systems
        of its snapshot.
    """
    code, rows = annotated.coating_code, annotated.coating_rows
    if not isinstance(code, str) or not isinstance(rows, list):
        return None
    row = next((one for one in rows if one.get("code") == code), None)
    return None if row is None else ProductLimits(str(row["name"]), limits_of(row))


def limits_of(row: Mapping[str, Any]) -> ClimateLimits:
    """Return the limits of one coating system; its temperatures hold for air and panel."""
    least_c, most_c = _figure(row, "least_c"), _figure(row, "most_c")
    humidity, margin_c = _figure(row, "most_humidity"), _figure(row, "dew_margin_c")
    return ClimateLimits(
        air_min_c=least_c,
        air_max_c=most_c,
        surface_min_c=least_c,
        surface_max_c=most_c,
        humidity_max_percent=MAX_HUMIDITY_PERCENT if humidity is None else 100 * humidity,
        dew_margin_c=DEW_MARGIN_C if margin_c is None else margin_c,
    )


def _figure(row: Mapping[str, Any], key: str) -> float | None:
    return None if row.get(key) is None else float(row[key])
