"""Depth distributions against SciPy and numpy, and the tables against trade ranges."""

import numpy as np
import pytest
from scipy import integrate, stats

from estimating.core.catalogue_rows import DefectProfile
from estimating.core.defects import NODES, WEIGHTS, share_cleared, share_shallower
from tests.estimating.core.cases import catalogue


def profile(distribution, depth_um, sigma):
    return DefectProfile("swirl_marks", "light", distribution, depth_um, sigma, 1.0)


@pytest.mark.parametrize(("mean_um", "share"), [(1.5, 0.736403), (1.27, 0.792952)])
def test_exponential_depths_of_known_mean_at_two_micrometres(mean_um, share):
    assert share_shallower(profile("exponential", mean_um, 0.0), 2.0) == pytest.approx(
        share, abs=1e-6
    )


def test_lognormal_depths_agree_with_scipy():
    found = share_shallower(profile("lognormal", 2.2, 0.35), 3.0)
    assert found == pytest.approx(stats.lognorm(s=0.35, scale=2.2).cdf(3.0))


def test_quadrature_is_gauss_hermite_of_five_points():
    nodes, weights = np.polynomial.hermite_e.hermegauss(5)
    assert pytest.approx(nodes, abs=1e-12) == NODES
    assert pytest.approx(weights / weights.sum(), abs=1e-12) == WEIGHTS


@pytest.mark.parametrize(("distribution", "sigma"), [("exponential", 0.0), ("lognormal", 0.4)])
def test_expected_share_agrees_with_numerical_integration(distribution, sigma):
    one = profile(distribution, 2.4, sigma)
    removal = stats.norm(4.0, 0.7)
    expected, _ = integrate.quad(lambda r: removal.pdf(r) * share_shallower(one, r), 0.0, 8.0)
    assert share_cleared(one, 4.0, 0.7, 1.0) == pytest.approx(expected, abs=2e-3)


def test_tables_lie_in_the_ranges_that_trade_pages_repeat():
    # Common practice, no source: 0.5 to 3 um a pass, light marring 1 to 1.5 um deep,
    # factory film 90 to 180 um, refinished from 200 um.
    assert all(0.5 <= row.removal_um <= 3.0 for row in catalogue().passes)
    assert 1.0 <= catalogue().profile_of["swirl_marks", "light"].depth_um <= 1.5
    assert all(90 <= row.film_um <= 180 for row in catalogue().prior_ages)
    assert catalogue().film.refinished_um == 200.0
