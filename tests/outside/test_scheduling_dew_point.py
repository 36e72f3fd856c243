"""Dew point against PsychroLib, the Magnus column of its paper's coefficients, printed charts."""

import psychrolib
import pytest

from scheduling.core.climate import (
    ClimateLimits,
    dew_point_c,
    judge_climate,
    saturation_pressure_hpa,
)

# Computed with the coefficients 6.1094 hPa, 17.625 and 243.04 °C of Alduchov and Eskridge,
# Journal of Applied Meteorology 35 (1996), 601-609.
MAGNUS_COLUMN = [
    (10, 50, 0.047),
    (15, 60, 7.297),
    (20, 50, 9.261),
    (20, 65, 13.221),
    (20, 80, 16.444),
    (25, 40, 10.465),
    (25, 60, 16.698),
    (25, 85, 22.302),
    (30, 60, 21.390),
    (30, 80, 26.171),
    (35, 45, 21.299),
    (5, 85, 2.688),
    (40, 70, 33.483),
]


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


def fahrenheit(celsius_: float) -> float:
    return celsius_ * 1.8 + 32


@pytest.mark.parametrize(("air_c", "humidity", "expected"), MAGNUS_COLUMN)
def test_magnus_column(air_c: float, humidity: float, expected: float) -> None:
    assert dew_point_c(air_c, humidity) == pytest.approx(expected, abs=0.001)


@pytest.mark.parametrize(("air_c", "humidity"), [(t, rh) for t, rh, _ in MAGNUS_COLUMN])
def test_psychrolib(air_c: float, humidity: float) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    theirs = psychrolib.GetTDewPointFromRelHum(float(air_c), humidity / 100)
    assert dew_point_c(air_c, humidity) == pytest.approx(theirs, abs=0.03)


@pytest.mark.parametrize("air_c", [0.01, 20, 30])
def test_saturation_pressure_against_psychrolib(air_c: float) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    theirs_hpa = psychrolib.GetSatVapPres(float(air_c)) / 100
    assert saturation_pressure_hpa(air_c) == pytest.approx(theirs_hpa, rel=0.003)


def test_printed_dew_point_chart_with_a_5_degree_rule() -> None:
    """70 °F at 65 % is printed as 57 °F, so the surface must be at least 62 °F."""
    assert fahrenheit(dew_point_c(celsius(70), 65)) == pytest.approx(57, abs=1)
    five_degrees = ClimateLimits(dew_margin_c=5 / 1.8)
    assert judge_climate(celsius(70), 65, celsius(63), five_degrees).allowed
    assert not judge_climate(celsius(70), 65, celsius(61), five_degrees).allowed


@pytest.mark.parametrize(
    ("air_f", "humidity", "printed_f"),
    [(60, 50, 40), (60, 80, 54), (70, 90, 67), (80, 60, 64), (80, 50, 59), (50, 70, 40)],
)
def test_cells_of_a_printed_chart(air_f: float, humidity: float, printed_f: float) -> None:
    """Printed dew-point charts are rounded and run up to 2 °F low; the cells agree to 1.5 °F."""
    assert fahrenheit(dew_point_c(celsius(air_f), humidity)) == pytest.approx(printed_f, abs=1.5)


def test_wet_bulb_example_of_a_coating_bulletin() -> None:
    """Dry 21 °C, wet 17 °C: dew point 15 °C, and a surface of 19 °C is warm enough."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    humidity = 100 * psychrolib.GetRelHumFromTWetBulb(21.0, 17.0, 101325.0)
    assert dew_point_c(21, humidity) == pytest.approx(15, abs=0.5)
    assert judge_climate(21, humidity, 19).allowed


def test_second_example_of_the_same_bulletin() -> None:
    """16 °C at 71 %: dew point 11 °C, a surface of 13 °C is only 2 °C above."""
    assert dew_point_c(16, 71) == pytest.approx(11, abs=0.5)
    assert not judge_climate(16, 71, 13).allowed


def test_example_of_a_coatings_glossary() -> None:
    assert dew_point_c(30, 55) == pytest.approx(20, abs=0.5)
