"""Climate limits, and cure progress that follows the temperature."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.core.climate import (
    ClimateLimits,
    CureProfile,
    RateModel,
    Reading,
    cure_state,
    dew_point_c,
    judge_climate,
)

DAY = CureProfile(minutes=1440, reference_c=23.0)


@pytest.mark.parametrize(("margin_c", "allowed"), [(3.0, True), (2.99, False)])
def test_three_degrees_over_the_dew_point(margin_c: float, allowed: bool) -> None:
    verdict = judge_climate(20, 65, dew_point_c(20, 65) + margin_c)
    assert verdict.allowed is allowed
    assert bool(verdict.reasons) is not allowed


@pytest.mark.parametrize(("humidity", "allowed"), [(85, True), (85.1, False)])
def test_humidity_limit_itself_is_allowed(humidity: float, allowed: bool) -> None:
    assert judge_climate(20, humidity, 30).allowed is allowed


def test_every_broken_limit_has_its_reason() -> None:
    limits = ClimateLimits(air_min_c=15, surface_min_c=12, humidity_max_percent=70)
    verdict = judge_climate(10, 80, 8, limits)
    assert [reason.split()[0] for reason in verdict.reasons] == [
        "air",
        "surface",
        "humidity",
        "surface",
    ]


def test_limits_that_contradict_are_refused() -> None:
    with pytest.raises(ValueError, match="above the upper"):
        ClimateLimits(air_min_c=30, air_max_c=10)


@pytest.mark.parametrize(("air_c", "humidity"), [(20, 0), (20, 101), (70, 50), (math.nan, 50)])
def test_impossible_weather_is_refused(air_c: float, humidity: float) -> None:
    with pytest.raises(ValueError, match="is"):
        dew_point_c(air_c, humidity)


def test_steady_reference_temperature_takes_the_stated_time() -> None:
    state = cure_state([Reading(0, 23), Reading(720, 23)], DAY)
    assert state.progress == pytest.approx(0.5)
    assert state.end_minute == pytest.approx(1440)
    assert state.is_forecast


def test_cold_night_moves_the_end() -> None:
    warm = cure_state([Reading(0, 23), Reading(600, 23)], DAY)
    cold = cure_state([Reading(0, 23), Reading(300, 23), Reading(600, 8)], DAY, assumed_c=23)
    assert cold.end_minute > warm.end_minute


def test_lamp_shortens_by_its_factor() -> None:
    lit = CureProfile(minutes=1440, lamp_factor=4)
    assert cure_state([Reading(0, 23, lamp=True)], lit).end_minute == pytest.approx(360)


def test_end_inside_the_log_is_no_forecast() -> None:
    state = cure_state([Reading(0, 23), Reading(2000, 23)], DAY)
    assert not state.is_forecast
    assert state.end_minute == pytest.approx(1440)
    assert state.progress == pytest.approx(2000 / 1440)


@given(
    st.lists(st.tuples(st.integers(1, 300), st.floats(0, 40)), min_size=1, max_size=8),
    st.sampled_from(RateModel),
)
def test_forecast_at_a_steady_temperature_is_kept(
    steps: list[tuple[int, float]], model: RateModel
) -> None:
    profile = CureProfile(minutes=50_000, model=model)
    minute, log = 0, [Reading(0, 20)]
    for minutes, temperature_c in steps:
        minute += minutes
        log.append(Reading(minute, temperature_c))
    forecast = cure_state(log, profile)
    halfway = (minute + forecast.end_minute) / 2
    later = cure_state([*log, Reading(halfway, log[-1].temperature_c)], profile)
    assert later.end_minute == pytest.approx(forecast.end_minute)


def test_log_out_of_order_is_refused() -> None:
    with pytest.raises(ValueError, match="out of order"):
        cure_state([Reading(10, 20), Reading(5, 20)], DAY)
