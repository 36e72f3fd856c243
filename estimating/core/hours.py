"""Durations as log-normals that hang together within one vehicle.

Every part of the work has an expected duration and a sigma (standard deviation of
the logarithm). Logarithms of two parts of one vehicle correlate by one figure of
the catalogue. The sum is matched by one log-normal with the same mean and variance
(Fenton 1960); parts of equal sigma are summed first, so that a plan costs a few
additions and not a square of its parts.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist

_STANDARD = NormalDist()
QUANTILES = (0.10, 0.50, 0.90)
_Z = tuple(_STANDARD.inv_cdf(quantile) for quantile in QUANTILES)


@dataclass(frozen=True, slots=True)
class Part:
    """One piece of work: expected minutes and sigma of the logarithm."""

    mean_minutes: float
    sigma: float


@dataclass(frozen=True, slots=True)
class Spread:
    """A log-normal duration in minutes; all zero where there is nothing to do."""

    mu: float
    sigma: float
    mean_minutes: float

    def quantile(self, z: float) -> float:
        """Minutes at a standard normal quantile `z`."""
        return math.exp(self.mu + z * self.sigma) if self.mean_minutes > 0 else 0.0

    def chance_within(self, minutes: float) -> float:
        """P(duration <= minutes)."""
        if self.mean_minutes <= 0:
            return 1.0
        if minutes <= 0:
            return 0.0
        if self.sigma == 0:
            return 1.0 if math.log(minutes) >= self.mu else 0.0
        return _STANDARD.cdf((math.log(minutes) - self.mu) / self.sigma)


@dataclass(frozen=True, slots=True)
class Range:
    """P10, P50 and P90 of a duration, in minutes."""

    p10: float
    p50: float
    p90: float


def part(median_minutes: float, sigma: float) -> Part:
    """A part from its median, as tables give it; the mean lies above it."""
    return Part(median_minutes * math.exp(sigma * sigma / 2), sigma)


# By sigma: sum of expected minutes, and sum of their squares.
Sums = dict[float, tuple[float, float]]


def gathered(parts: Iterable[Part]) -> Sums:
    """Parts summed by sigma; all that the total of a plan needs to know of them."""
    sums: Sums = {}
    for piece in parts:
        amount, square = sums.get(piece.sigma, (0.0, 0.0))
        sums[piece.sigma] = (amount + piece.mean_minutes, square + piece.mean_minutes**2)
    return sums


def merge(into: Sums, more: Sums) -> None:
    """Add one collection of sums to another."""
    for sigma, (amount, square) in more.items():
        before = into.get(sigma)
        into[sigma] = (
            (amount, square) if before is None else (before[0] + amount, before[1] + square)
        )


def mean_minutes(sums: Sums) -> float:
    """Expected minutes of all that was gathered."""
    return sum(amount for amount, _ in sums.values())


def total(parts: Iterable[Part], correlation: float) -> Spread:
    """Log-normal of the sum of parts, by matching mean and variance.

    Parameters
    ----------
    parts
        The pieces of work of one vehicle.
    correlation
        Between the logarithms of any two parts, from 0 to 1.
    """
    return total_of(gathered(parts), correlation)


def total_of(sums: Sums, correlation: float) -> Spread:
    """The same for parts already gathered."""
    mean = mean_minutes(sums)
    if mean <= 0:
        return Spread(0.0, 0.0, 0.0)
    own, shared = _growths(tuple(sums), correlation)
    amounts = [amount for amount, _ in sums.values()]
    variance = sum(square * more for (_, square), more in zip(sums.values(), own, strict=True))
    for amount, row in zip(amounts, shared, strict=True):
        variance += amount * sum(map(operator.mul, amounts, row))
    spread = math.log1p(max(variance, 0.0) / mean**2)
    return Spread(math.log(mean) - spread / 2, math.sqrt(spread), mean)


@lru_cache(maxsize=256)
def _growths(
    sigmas: tuple[float, ...], correlation: float
) -> tuple[tuple[float, ...], tuple[tuple[float, ...], ...]]:
    """Relative covariances by sigma: what a part has for itself alone, and with each other.

    Plans of one vehicle have the same few sigmas, so this is worked out once for them.
    """
    own = tuple(
        math.expm1(sigma * sigma) - math.expm1(correlation * sigma * sigma) for sigma in sigmas
    )
    shared = tuple(
        tuple(math.expm1(correlation * sigma * other) for other in sigmas) for sigma in sigmas
    )
    return own, shared


def range_of(spread: Spread) -> Range:
    """P10, P50 and P90 of a duration."""
    low, middle, high = (spread.quantile(z) for z in _Z)
    return Range(low, middle, high)
