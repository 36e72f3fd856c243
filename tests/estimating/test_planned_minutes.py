"""The calendar keeps the chosen quantile of a log-normal, rounded up to five minutes."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import lognorm

from estimating.core.hours import Range, part, range_of, total
from estimating.core.operations import Operation
from estimating.core.result import Estimate
from estimating.snapshot import operation_parts, quantile_minutes


def lasting(minutes: Range) -> Estimate:
    """An estimate as far as its operations are looked at."""
    made = object.__new__(Estimate)
    block = Operation("wipe", "Wipe", "wipe", minutes, "correction", "polish", 1, True)
    object.__setattr__(made, "operations", (block,))
    return made


def planned(minutes: Range, share: float) -> int:
    row = operation_parts(lasting(minutes), share)[0]
    kept: int = row["planned_minutes"]
    return kept


@given(median=st.floats(1.0, 2000.0), sigma=st.floats(0.01, 0.8), share=st.floats(0.02, 0.98))
def test_quantile_is_that_of_scipy(median: float, sigma: float, share: float) -> None:
    """Source: SciPy's ``lognorm.ppf`` with ``s=sigma, scale=median``."""
    minutes = range_of(total([part(median, sigma)], 0.0))
    expected = lognorm.ppf(share, s=sigma, scale=median)
    assert quantile_minutes(minutes, share) == pytest.approx(expected, rel=1e-9)


@given(median=st.floats(0.5, 2000.0), sigma=st.floats(0.0, 0.8), share=st.floats(0.0, 1.0))
def test_planned_is_the_next_five_minutes(median: float, sigma: float, share: float) -> None:
    minutes = range_of(total([part(median, sigma)], 0.0))
    kept = planned(minutes, share)
    assert kept % 5 == 0
    assert kept - 5 < quantile_minutes(minutes, share) + 0.01
    assert kept >= quantile_minutes(minutes, share) - 0.01


@pytest.mark.parametrize(
    ("minutes", "kept"), [(0.02, 5), (5.0, 5), (5.001, 5), (5.1, 10), (720.0, 720), (719.99, 720)]
)
def test_certain_times_by_hand(minutes: float, kept: int) -> None:
    """Work without a spread takes its own time, and a rounding error no five minutes."""
    assert planned(Range(minutes, minutes, minutes), 0.7) == kept


def test_half_of_the_work_fits_into_the_median() -> None:
    assert quantile_minutes(Range(80.0, 100.0, 125.0), 0.5) == pytest.approx(100.0)


def test_work_that_takes_no_time_is_no_operation() -> None:
    assert operation_parts(lasting(Range(0.0, 0.0, 0.0)), 0.7) == []
    assert math.isfinite(quantile_minutes(Range(0.0, 0.0, 0.0), 0.7))
