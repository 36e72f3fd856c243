"""P(film left < floor) in closed form against a Monte Carlo with SciPy and numpy."""

import math
from typing import Any

import numpy as np
import pytest
from scipy import stats

from estimating.core.catalogue_prior import FilmPolicy, Gauge
from estimating.core.film import gauge_sd_um, panel_film
from estimating.core.risk import remainder
from tests.estimating.core.cases import catalogue

POLICY = FilmPolicy(76.2, 5.08, 0.05)


def test_gauge_limits_of_the_form_a_plus_b_t():
    # Form as in a glossary of measurement terms; a = 1 um and b = 1 % are an example.
    gauge = Gauge(1.0, 1.0, 0.01)
    assert gauge_sd_um(120.0, gauge) * math.sqrt(3) == pytest.approx(2.2)
    assert gauge_sd_um(40.0, gauge) * math.sqrt(3) == pytest.approx(1.4)
    assert gauge_sd_um(120.0, gauge) == pytest.approx(stats.uniform(-2.2, 4.4).std())


@pytest.mark.parametrize(
    ("spots", "removal", "place"),
    [
        ([88.0, 92.0, 96.0, 104.0], 4.0, "panel"),
        ([100.0, 101.0, 99.5, 100.0, 100.5, 84.0], 7.4, "lowest spot"),
    ],
)
def test_closed_form_agrees_with_monte_carlo(spots, removal, place):
    gauge = Gauge(1.5, 1.0, 0.01)
    film = panel_film([[value] * 3 for value in spots], gauge, catalogue().film)
    assert film is not None
    found = remainder(film, removal, 1.0, gauge, POLICY)
    rng = np.random.default_rng(7)
    size = 400_000
    base = film.mean_um if place == "panel" else film.lowest_um
    left: Any = base - rng.normal(removal, 1.0, size) + rng.normal(0, 1.5 / math.sqrt(3), size)
    left += rng.normal(0, gauge_sd_um(base, gauge), size)
    if place == "panel":
        left += rng.normal(0, film.spread_um, size)
    assert found.place == place
    assert found.risk == pytest.approx((left < POLICY.floor_um).mean(), abs=0.004)
    assert found.p05_um == pytest.approx(np.quantile(left, 0.05), abs=0.05)


def test_risk_at_the_limit_and_the_quantile_say_the_same():
    gauge = Gauge(1.0, 1.0, 0.01)
    film = panel_film([[95.0] * 3, [92.0] * 3, [97.0] * 3], gauge, catalogue().film)
    assert film is not None
    for removal in np.linspace(1.0, 18.0, 30):
        found = remainder(film, float(removal), 0.6, gauge, POLICY)
        assert (found.risk > 0.05) == (found.p05_um < POLICY.floor_um)
