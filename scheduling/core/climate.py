"""Dew point, application limits and cure progress.

The limits that count are those of the product's own data sheet; the figures here only say when
to look at it again.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

# Magnus coefficients over water: Alduchov and Eskridge, "Improved Magnus Form Approximation of
# Saturation Vapor Pressure", Journal of Applied Meteorology 35 (1996), 601-609.
MAGNUS_HPA = 6.1094
MAGNUS_B = 17.625
MAGNUS_C = 243.04

DEW_MARGIN_C = 3.0
"""Surface above dew point; the 3 °C (5 °F) rule of coating work, named in guides to ISO 8502-4."""
MAX_HUMIDITY_PERCENT = 85.0
"""Upper humidity that goes with the rule in the same guides."""

GAS_CONSTANT = 8.314462618  # J/(mol K), CODATA 2018
ZERO_C_IN_K = 273.15
SUBSTEP_C = 1.0
ROUNDING_C = 1e-9


def saturation_pressure_hpa(air_c: float) -> float:
    """Return the saturation vapour pressure over water in hPa (Alduchov and Eskridge 1996)."""
    return MAGNUS_HPA * math.exp(MAGNUS_B * air_c / (MAGNUS_C + air_c))


def dew_point_c(air_c: float, humidity_percent: float) -> float:
    """Return the dew point in °C.

    Parameters
    ----------
    air_c : float
        Air temperature, °C, -40 to 60.
    humidity_percent : float
        Relative humidity, above 0 and up to 100.

    Raises
    ------
    ValueError
        Outside of these ranges.

    Notes
    -----
    Inverse Magnus form with the coefficients of Alduchov and Eskridge 1996.
    """
    if not -40 <= air_c <= 60:
        raise ValueError(f"air temperature is -40 to 60 °C, not {air_c}")
    if not 0 < humidity_percent <= 100:
        raise ValueError(f"relative humidity is above 0 and up to 100 %, not {humidity_percent}")
    g = math.log(humidity_percent / 100) + MAGNUS_B * air_c / (MAGNUS_C + air_c)
    return MAGNUS_C * g / (MAGNUS_B - g)


@dataclass(frozen=True, slots=True)
class ClimateLimits:
    """Limits of one product for its application; ``None`` where the data sheet has none."""

    air_min_c: float | None = None
    air_max_c: float | None = None
    surface_min_c: float | None = None
    surface_max_c: float | None = None
    humidity_min_percent: float | None = None
    humidity_max_percent: float | None = MAX_HUMIDITY_PERCENT
    dew_margin_c: float = DEW_MARGIN_C

    def __post_init__(self) -> None:
        for low, high, what in (
            (self.air_min_c, self.air_max_c, "air"),
            (self.surface_min_c, self.surface_max_c, "surface"),
            (self.humidity_min_percent, self.humidity_max_percent, "humidity"),
        ):
            if low is not None and high is not None and low > high:
                raise ValueError(f"{what}: the lower limit {low} is above the upper limit {high}")
        if not self.dew_margin_c >= 0:
            raise ValueError(
                f"the margin over the dew point is at least 0, not {self.dew_margin_c}"
            )


@dataclass(frozen=True, slots=True)
class ClimateVerdict:
    """Whether conditions allow the product; ``reasons`` name every limit that is broken."""

    allowed: bool
    dew_point_c: float
    margin_c: float
    reasons: tuple[str, ...]


def judge_climate(
    air_c: float,
    humidity_percent: float,
    surface_c: float,
    limits: ClimateLimits | None = None,
) -> ClimateVerdict:
    """Return whether a coating may be applied, with the reason for each limit it breaks.

    Parameters
    ----------
    air_c, surface_c : float
        Temperatures of air and panel, °C.
    humidity_percent : float
        Relative humidity.
    limits : ClimateLimits, optional
        The product's own; the 3 °C rule and 85 % if left out. Limits themselves are allowed.
    """
    limits = limits or ClimateLimits()
    dew_c = dew_point_c(air_c, humidity_percent)
    margin_c = surface_c - dew_c
    reasons = []
    for value, low, high, what, unit in (
        (air_c, limits.air_min_c, limits.air_max_c, "air", "°C"),
        (surface_c, limits.surface_min_c, limits.surface_max_c, "surface", "°C"),
        (
            humidity_percent,
            limits.humidity_min_percent,
            limits.humidity_max_percent,
            "humidity",
            "%",
        ),
    ):
        if low is not None and value < low:
            reasons.append(f"{what} {value:g} {unit} is below the product's {low:g} {unit}")
        if high is not None and value > high:
            reasons.append(f"{what} {value:g} {unit} is above the product's {high:g} {unit}")
    if margin_c < limits.dew_margin_c - ROUNDING_C:
        reasons.append(
            f"surface {surface_c:g} °C is {margin_c:.1f} °C above the dew point "
            f"({dew_c:.1f} °C), it must be at least {limits.dew_margin_c:g} °C above"
        )
    return ClimateVerdict(not reasons, dew_c, margin_c, tuple(reasons))


class RateModel(StrEnum):
    """How the speed of a cure depends on temperature."""

    ARRHENIUS = "arrhenius"
    Q10 = "q10"


@dataclass(frozen=True, slots=True)
class CureProfile:
    """Cure of one product.

    Parameters
    ----------
    minutes : float
        Time to the end of cure at ``reference_c``, without lamps.
    reference_c : float
        Temperature for which the data sheet gives that time, °C.
    model : RateModel
        Arrhenius (``activation_kj_mol``) or the ten-degree rule (``q10``).
    lamp_factor : float
        How many times faster it cures under an infrared lamp.

    Notes
    -----
    Neither model knows of humidity, on which moisture-curing products depend as well.
    """

    minutes: float
    reference_c: float = 23.0
    model: RateModel = RateModel.ARRHENIUS
    activation_kj_mol: float = 50.0
    q10: float = 2.0
    lamp_factor: float = 1.0

    def __post_init__(self) -> None:
        for key in ("minutes", "q10", "lamp_factor"):
            if not (math.isfinite(getattr(self, key)) and getattr(self, key) > 0):
                raise ValueError(f"{key} is above 0, not {getattr(self, key)}")
        if not (math.isfinite(self.activation_kj_mol) and self.activation_kj_mol >= 0):
            raise ValueError(f"activation_kj_mol is at least 0, not {self.activation_kj_mol}")

    def speed(self, temperature_c: float, *, lamp: bool = False) -> float:
        """Return how many times faster than at the reference temperature the product cures."""
        if self.model is RateModel.Q10:
            speed = math.pow(self.q10, (temperature_c - self.reference_c) / 10)
        else:
            inverse_k = 1 / (self.reference_c + ZERO_C_IN_K) - 1 / (temperature_c + ZERO_C_IN_K)
            speed = math.exp(self.activation_kj_mol * 1000 / GAS_CONSTANT * inverse_k)
        return speed * (self.lamp_factor if lamp else 1.0)

    def minutes_at(self, temperature_c: float, *, lamp: bool = False) -> float:
        """Return the time to the end of cure at a steady temperature, minutes."""
        return self.minutes / self.speed(temperature_c, lamp=lamp)


@dataclass(frozen=True, slots=True)
class Reading:
    """A logged temperature at the part; ``lamp`` says that a lamp is on from here on."""

    minute: float
    temperature_c: float
    lamp: bool = False


@dataclass(frozen=True, slots=True)
class CureState:
    """Cure so far (1 is done), and when it was or will be done, minutes from the origin."""

    progress: float
    end_minute: float
    is_forecast: bool


def cure_state(
    log: Sequence[Reading],
    profile: CureProfile,
    *,
    assumed_c: float | None = None,
    lamp: bool | None = None,
) -> CureState:
    """Return the progress of a cure over its log, and its end.

    Parameters
    ----------
    log : sequence of Reading
        In order, the first one at the start of the cure. The temperature runs straight from one
        reading to the next; two readings of the same minute are a step.
    profile : CureProfile
        The product.
    assumed_c : float, optional
        Temperature from the last reading on, for the forecast; that of the last reading if left
        out.
    lamp : bool, optional
        Whether a lamp is on from then on; as in the last reading if left out.

    Raises
    ------
    ValueError
        For an empty log or one that is out of order.
    """
    if not log:
        raise ValueError("a cure needs a reading at its start")
    progress, done_minute = 0.0, None
    for before, after in pairwise(log):
        if after.minute < before.minute:
            raise ValueError(f"readings are out of order at minute {after.minute:g}")
        for start, end, gained in _substeps(before, after, profile):
            if done_minute is None and progress + gained >= 1:
                done_minute = start + (end - start) * (1 - progress) / gained
            progress += gained
    if done_minute is not None:
        return CureState(progress, done_minute, is_forecast=False)
    last = log[-1]
    ahead_c = last.temperature_c if assumed_c is None else assumed_c
    ahead_lamp = last.lamp if lamp is None else lamp
    rest = (1 - progress) * profile.minutes_at(ahead_c, lamp=ahead_lamp)
    return CureState(progress, last.minute + rest, is_forecast=True)


def _substeps(
    before: Reading, after: Reading, profile: CureProfile
) -> Iterator[tuple[float, float, float]]:
    """Yield short stretches between two readings with the progress made (Simpson's rule)."""
    minutes = after.minute - before.minute
    span_c = abs(after.temperature_c - before.temperature_c)
    count = max(1, math.ceil(span_c / SUBSTEP_C)) if minutes else 0
    for k in range(count):
        low, high = k / count, (k + 1) / count
        speeds = [
            profile.speed(
                before.temperature_c + (after.temperature_c - before.temperature_c) * share,
                lamp=before.lamp,
            )
            for share in (low, (low + high) / 2, high)
        ]
        mean_speed = (speeds[0] + 4 * speeds[1] + speeds[2]) / 6
        gained = mean_speed * minutes / count / profile.minutes
        yield before.minute + low * minutes, before.minute + high * minutes, gained
