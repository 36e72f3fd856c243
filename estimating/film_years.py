"""The film of one vehicle over the years: what each inspection read, panel by panel."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import fmean
from typing import Final

from estimating.core.units import to_um
from estimating.models import Inspection, PanelFinding
from shop.models import Vehicle

MOST_SHOWN: Final = 8
"""Inspections side by side: the first and the latest of more."""


@dataclass(frozen=True)
class PanelRead:
    """What one inspection read on one panel, in micrometres.

    ``mean_um`` is the mean of the spots' means and ``lowest_um`` the lowest of them.
    """

    mean_um: float
    lowest_um: float
    readings: int
    covered: bool


@dataclass(frozen=True)
class FilmYears:
    """Inspections, oldest first, and for each panel what each of them read, or None."""

    inspections: tuple[Inspection, ...]
    panels: tuple[tuple[str, tuple[PanelRead | None, ...]], ...]


def film_years(vehicle: Vehicle, most: int = MOST_SHOWN) -> FilmYears:
    """Return a vehicle's film over its inspections, in two queries.

    Parameters
    ----------
    most
        At most so many inspections: the first one and the latest.
    """
    rows = Inspection.objects.filter(vehicle=vehicle, shop=vehicle.shop_id)
    every = list(rows.select_related("member", "gauge").order_by("taken_at", "pk"))
    kept = every if len(every) <= most else [every[0], *every[1 - most :]]
    place = {row.pk: index for index, row in enumerate(kept)}
    found: dict[str, list[PanelRead | None]] = {}
    for panel in PanelFinding.objects.filter(inspection__in=kept).order_by("sequence", "pk"):
        read = _read(panel, kept[place[panel.inspection_id]].unit)
        if read is not None:
            line = found.setdefault(panel.panel, [None] * len(kept))
            line[place[panel.inspection_id]] = read
    return FilmYears(tuple(kept), tuple((name, tuple(line)) for name, line in found.items()))


def _read(panel: PanelFinding, unit: str) -> PanelRead | None:
    means = [to_um(fmean(spot), unit) for spot in panel.spots if spot]
    if not means:
        return None
    count = sum(len(spot) for spot in panel.spots)
    return PanelRead(fmean(means), min(means), count, bool(panel.covered))
