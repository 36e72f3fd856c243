"""Log-normal durations against SciPy, Fenton 1960 by formula, and Monte Carlo."""

import math

import numpy as np
import pytest
from scipy import stats

from estimating.core.hours import Part, part, range_of, total

FENTON = [part(2.0, 0.3), part(4.0, 0.5), part(1.5, 0.4)]


def test_quantiles_of_one_part_agree_with_scipy():
    spread = total([part(4.0, 0.5)], 0.4)
    frozen = stats.lognorm(s=0.5, scale=4.0)
    found = range_of(spread)
    assert [found.p10, found.p50, found.p90] == pytest.approx(frozen.ppf([0.1, 0.5, 0.9]))
    assert spread.mean_minutes == pytest.approx(frozen.mean())
    assert spread.chance_within(6.092783) == pytest.approx(0.80, abs=1e-6)


def test_sum_of_three_by_fenton():
    spread = total(FENTON, 0.0)
    assert (spread.mu, spread.sigma) == pytest.approx((2.063176, 0.306548), abs=1e-5)
    found = range_of(spread)
    assert [found.p10, found.p50, found.p90] == pytest.approx(
        [5.31386, 7.87093, 11.65848], abs=1e-4
    )


def test_sum_of_four_alike_by_fenton():
    spread = total([part(1.0, 0.25)] * 4, 0.0)
    assert (spread.mu, spread.sigma) == pytest.approx((1.409547, 0.126471), abs=1e-6)


def test_sum_by_monte_carlo_of_four_million_draws():
    # Computed with numpy; Fenton is known to be off by 3.5 % at P10 of this sum.
    found = range_of(total(FENTON, 0.0))
    assert found.p10 == pytest.approx(5.505, rel=0.036)
    assert found.p50 == pytest.approx(7.780, rel=0.013)
    assert found.p90 == pytest.approx(11.532, rel=0.012)


@pytest.mark.parametrize("correlation", [0.0, 0.4, 1.0])
def test_correlated_parts_of_a_vehicle_agree_with_monte_carlo(correlation):
    sigmas = np.array([0.2] * 6 + [0.3] * 12 + [0.4] * 3)
    medians = np.linspace(5, 40, len(sigmas))
    rng = np.random.default_rng(20_260_101)
    shared = rng.standard_normal((20_000, 1))
    own = rng.standard_normal((20_000, len(sigmas)))
    logs = math.sqrt(correlation) * shared + math.sqrt(1 - correlation) * own
    draws = (medians * np.exp(sigmas * logs)).sum(axis=1)
    parts = [part(float(m), float(s)) for m, s in zip(medians, sigmas, strict=True)]
    found = range_of(total(parts, correlation))
    expected = np.quantile(draws, [0.1, 0.5, 0.9])
    assert [found.p10, found.p50, found.p90] == pytest.approx(expected, rel=0.02)


def test_pert_network_keeps_mean_and_variance():
    # PM Knowledge Center article on PERT, data as read: critical path A-B-E-F of
    # (2,5,8) (1,2,9) (1,2,9) (1,3,11) has mean 15 and variance 7.3333.
    parts = []
    for low, likely, high in ((2, 5, 8), (1, 2, 9), (1, 2, 9), (1, 3, 11)):
        mean, deviation = (low + 4 * likely + high) / 6, (high - low) / 6
        parts.append(Part(mean, math.sqrt(math.log1p((deviation / mean) ** 2))))
    spread = total(parts, 0.0)
    variance = spread.mean_minutes**2 * math.expm1(spread.sigma**2)
    assert (spread.mean_minutes, variance) == pytest.approx((15.0, 7.3333), abs=1e-4)
