"""Cure rates against published examples of the ten-degree rule, Arrhenius and scipy."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from scheduling.core.climate import CureProfile, RateModel, Reading, cure_state


def q10(minutes: float, reference_c: float, factor: float = 2.0) -> CureProfile:
    return CureProfile(minutes, reference_c, RateModel.Q10, q10=factor)


def test_ten_degree_rule_of_a_two_part_adhesive() -> None:
    """A two-part adhesive note: 60 minutes at 25 °C halve with each ten degrees."""
    profile = q10(60, 25)
    assert profile.minutes_at(35) == pytest.approx(30)
    assert profile.minutes_at(45) == pytest.approx(15)


@pytest.mark.parametrize(("factor", "days"), [(2, 79), (4, 17)])
def test_table_of_a_stability_laboratory(factor: float, days: float) -> None:
    """One year at 23 °C is done at 45 °C in 79 or 17 days, for a factor of 2 or 4."""
    assert q10(365, 23, factor).minutes_at(45) == pytest.approx(days, abs=0.5)


def test_ageing_factor_in_the_form_of_astm_f1980() -> None:
    """Factor 2^3 = 8 between 25 and 55 °C (form quoted from ASTM F1980): 730 days become 91.25."""
    assert q10(730, 25).speed(55) == pytest.approx(8)
    assert q10(730, 25).minutes_at(55) == pytest.approx(91.25)


@pytest.mark.parametrize(("reference_c", "days"), [(22, 37.059), (23, 39.719), (25, 45.625)])
def test_year_of_ageing_at_55_degrees(reference_c: float, days: float) -> None:
    assert q10(365, reference_c).minutes_at(55) == pytest.approx(days, abs=1e-3)


@pytest.mark.parametrize(("cool_c", "activation"), [(20, 51.216), (25, 52.949)])
def test_activation_energy_of_an_exact_doubling(cool_c: float, activation: float) -> None:
    """Arrhenius with R = 8.314462618 J/(mol K)."""
    profile = CureProfile(60, cool_c, activation_kj_mol=activation)
    assert profile.speed(cool_c + 10) == pytest.approx(2, abs=1e-4)


@pytest.mark.parametrize(
    ("activation", "multipliers"),
    [
        (50, [3.7213, 2.5403, 1.7573, 1.2310, 0.8727, 0.6257, 0.4535]),
        (80, [8.1867, 4.4445, 2.4646, 1.3944, 0.8042, 0.4723, 0.2822]),
    ],
)
def test_arrhenius_time_against_23_degrees(activation: float, multipliers: list[float]) -> None:
    profile = CureProfile(1, 23, activation_kj_mol=activation)
    times = [profile.minutes_at(c) for c in (5, 10, 15, 20, 25, 30, 35)]
    assert times == pytest.approx(multipliers, abs=1e-4)


def test_credit_of_a_cool_and_a_warm_half_day() -> None:
    """12 h at 15 °C and 12 h at 25 °C are worth 20.6766 h at 23 °C (additive damage, Q10 2)."""
    log = [Reading(0, 15), Reading(720, 15), Reading(720, 25), Reading(1440, 25)]
    assert cure_state(log, q10(60, 23)).progress == pytest.approx(20.6766, abs=1e-4)


@given(
    st.lists(st.tuples(st.integers(1, 240), st.floats(-5, 45)), min_size=1, max_size=6),
    st.sampled_from(RateModel),
)
def test_progress_against_scipy(steps: list[tuple[int, float]], model: RateModel) -> None:
    profile = CureProfile(1e9, 23, model)
    log = [Reading(0, 20)]
    for minutes, temperature_c in steps:
        log.append(Reading(log[-1].minute + minutes, temperature_c))
    expected = 0.0
    for a, b in pairwise(log):
        slope = (b.temperature_c - a.temperature_c) / (b.minute - a.minute)
        area, _ = integrate.quad(
            lambda m, a=a, slope=slope: profile.speed(a.temperature_c + slope * (m - a.minute)),
            a.minute,
            b.minute,
        )
        expected += area / profile.minutes
    assert cure_state(log, profile).progress == pytest.approx(expected, rel=1e-4)
