"""What a plan leaves on a panel, and the chance that it is less than the floor."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from estimating.core.catalogue_prior import FilmPolicy, Gauge
from estimating.core.film import PanelFilm, gauge_sd_um

_STANDARD = NormalDist()
_Z95 = _STANDARD.inv_cdf(0.95)


@dataclass(frozen=True, slots=True)
class Remainder:
    """Film left after a plan, in micrometres, as a normal distribution.

    `place` is `panel` (a place picked at random) or `lowest spot`, whichever is the
    more likely to fall under the floor.
    """

    mean_um: float
    sd_um: float
    risk: float
    place: str

    @property
    def p05_um(self) -> float:
        """Film that 95 % of such places keep at least."""
        return self.mean_um - _Z95 * self.sd_um

    @property
    def p95_um(self) -> float:
        """Film that 95 % of such places do not exceed."""
        return self.mean_um + _Z95 * self.sd_um


def chance_below(limit_um: float, mean_um: float, sd_um: float) -> float:
    """P(film < limit) for a normal film thickness; a step where `sd_um` is zero."""
    if sd_um == 0:
        return 1.0 if mean_um < limit_um else 0.0
    return _STANDARD.cdf((limit_um - mean_um) / sd_um)


def remainder(
    film: PanelFilm,
    removal_um: float,
    removal_sd_um: float,
    gauge: Gauge,
    policy: FilmPolicy,
) -> Remainder:
    """Film left when a removal is taken from a panel.

    Two places are looked at. At a place picked at random the film is normal about
    the panel mean with the spread between spots; at the lowest spot it is what was
    measured there. Both carry the gauge's error at that thickness, repeatability
    over the root of the readings, and the variance of the removal. The place with
    the greater chance of falling under the floor speaks for the panel.
    """
    noise = gauge.repeatability_um**2 / film.readings_per_spot + removal_sd_um**2
    random_sd = math.sqrt(noise + gauge_sd_um(film.mean_um, gauge) ** 2 + film.spread_um**2)
    lowest_sd = math.sqrt(noise + gauge_sd_um(film.lowest_um, gauge) ** 2)
    random_mean = film.mean_um - removal_um
    lowest_mean = film.lowest_um - removal_um
    at_random = chance_below(policy.floor_um, random_mean, random_sd)
    at_lowest = chance_below(policy.floor_um, lowest_mean, lowest_sd)
    if at_lowest > at_random:
        return Remainder(lowest_mean, lowest_sd, at_lowest, "lowest spot")
    return Remainder(random_mean, random_sd, at_random, "panel")


def risk_in_words(risk: float | None) -> str:
    """Say a risk so that a customer understands it."""
    if risk is None:
        return "unknown: no gauge can read the film here"
    if risk < 0.0005:
        return "less than 1 in 2,000 that film falls under the floor"
    if risk >= 0.5:
        return "more likely than not that film is under the floor"
    return f"about 1 in {round(1 / risk):,} that film falls under the floor"
