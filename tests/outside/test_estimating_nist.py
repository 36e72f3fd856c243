"""Spot statistics against NIST StRD univariate sets NumAcc1, 2, 3 and 4.

Certified values as quoted in public test suites from itl.nist.gov/div898/strd;
the sets are built as NIST describes them.
"""

import pytest

from estimating.core.catalogue_prior import Gauge
from estimating.core.film import panel_film
from tests.estimating.core.cases import catalogue

GAUGE = Gauge(1.0, 1.0, 0.01)
SETS = [
    ([10000001.0, 10000003.0, 10000002.0], 10000002.0, 1.0),
    ([1.2, *[1.1, 1.3] * 500], 1.2, 0.1),
    ([1000000.2, *[1000000.1, 1000000.3] * 500], 1000000.2, 0.1),
    ([10000000.2, *[10000000.1, 10000000.3] * 500], 10000000.2, 0.1),
]


@pytest.mark.parametrize(("values", "mean", "deviation"), SETS)
def test_mean_and_deviation_between_spots(values, mean, deviation):
    film = panel_film([[value] * 3 for value in values], GAUGE, catalogue().film)
    assert film is not None
    assert film.mean_um == pytest.approx(mean, rel=1e-14)
    assert film.spread_um == pytest.approx(deviation, rel=1e-8)
