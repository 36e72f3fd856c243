"""Film statistics of a panel: spots, lowest spot, spread, budget.

A reading is one gauge value; a spot is the mean of three or more readings taken
close together; words and arithmetic as in SSPC-PA 2, without its limits.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, median

from estimating.core.catalogue_prior import FilmPolicy, FilmSettings, Gauge

_LEAST_KEPT = 2


@dataclass(frozen=True, slots=True)
class Spot:
    """One spot: the mean of the readings kept, and the readings set aside."""

    mean_um: float
    kept: tuple[float, ...]
    set_aside: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class PanelFilm:
    """Film of one panel, all in micrometres; `spread_um` is between its spots."""

    spots: tuple[Spot, ...]
    mean_um: float
    lowest_um: float
    highest_um: float
    spread_um: float
    readings_per_spot: float


def spot_of(readings: Sequence[float], gauge: Gauge, settings: FilmSettings) -> Spot:
    """Average a spot, after setting aside readings that stand far above the rest.

    The highest reading is compared with the others again and again, and set aside
    while it stands out, as SSPC-PA 2 lets one discard a reading that cannot be
    repeated. Only high ones are: a low one may be real, and believing it costs
    paint to nobody. Testing the highest first means that one more high reading
    can never raise a spot.
    """
    kept = sorted(readings)
    set_aside: list[float] = []
    while len(kept) > _LEAST_KEPT and _stands_above(kept[-1], kept[:-1], gauge, settings):
        set_aside.append(kept.pop())
    return Spot(fmean(kept), tuple(kept), tuple(set_aside))


def _stands_above(
    reading: float, others: Sequence[float], gauge: Gauge, settings: FilmSettings
) -> bool:
    middle = median(others)
    mad = median(abs(other - middle) for other in others)
    scale = max(mad / 0.6745, gauge.repeatability_um, gauge_sd_um(middle, gauge))
    return reading - middle > max(settings.outlier_score * scale, settings.low_spot_um)


def panel_film(
    spots: Sequence[Sequence[float]], gauge: Gauge, settings: FilmSettings
) -> PanelFilm | None:
    """Summarise the readings of a panel; None where there are none."""
    if not spots:
        return None
    made = tuple(spot_of(readings, gauge, settings) for readings in spots)
    means = [spot.mean_um for spot in made]
    return PanelFilm(
        spots=made,
        mean_um=fmean(means),
        lowest_um=min(means),
        highest_um=max(means),
        spread_um=_deviation(means) if len(means) > 1 else settings.default_spread_um,
        readings_per_spot=fmean(len(spot.kept) for spot in made),
    )


def _deviation(values: Sequence[float]) -> float:
    """Standard deviation of a sample, in two passes: one would cancel away its digits."""
    middle = fmean(values)
    return math.sqrt(math.fsum((value - middle) ** 2 for value in values) / (len(values) - 1))


def gauge_sd_um(film_um: float, gauge: Gauge) -> float:
    """Standard deviation of the gauge's own error at a thickness.

    The accuracy `a + b * t` of a data sheet is read as the half-width of an even
    spread of errors, whose standard deviation is the half-width over the root of
    three (the reading usual for a limit given without a confidence, from memory).
    """
    return (gauge.accuracy_um + gauge.accuracy_share * film_um) / math.sqrt(3)


def budget_um(lowest_um: float, policy: FilmPolicy) -> float:
    """Film that may be taken: lowest spot less floor less reserve (may be negative)."""
    return lowest_um - policy.floor_um - policy.reserve_um
