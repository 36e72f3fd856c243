"""Durations drawn from their ranges: the same numbers for the same names, hit evenly."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from hashlib import blake2b
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

Minutes = npt.NDArray[np.int32]
Draws = npt.NDArray[np.float64]
NEVER = 2**30
"""A minute after every calendar: the draw in which work is not done within the horizon."""
MOST_KEPT_SAMPLES = 4096
"""Draws of at most this many samples are kept for the next question (16 MB at 2,000)."""
Z90 = NormalDist().inv_cdf(0.9)


@dataclass(frozen=True, slots=True)
class Range:
    """Minutes that a duration stays under with 10, 50 and 90 % probability."""

    p10: float
    p50: float
    p90: float

    def __post_init__(self) -> None:
        if not 0 < self.p10 <= self.p50 <= self.p90 < math.inf:
            raise ValueError(f"a range has 0 < p10 <= p50 <= p90, not {self}")

    @property
    def spreads(self) -> tuple[float, float]:
        """Spread of the logarithm below and above the median, for one standard deviation."""
        return math.log(self.p50 / self.p10) / Z90, math.log(self.p90 / self.p50) / Z90

    def at(self, z: Draws) -> Minutes:
        """Return durations in whole minutes for standard normal draws.

        A log-normal on either side of the median, so that all three quantiles are met.
        """
        minutes: Minutes = durations([self], z[np.newaxis, :])[0]
        return minutes


def durations(ranges: Sequence[Range], z: Draws) -> Minutes:
    """Return whole minutes, one row for each range, from as many rows of normal draws."""
    minutes = np.empty(z.shape, dtype=np.int32)
    # Row by row: what a row needs stays in the processor's nearest memory.
    for one, row, out in zip(ranges, z, minutes, strict=True):
        below, above = one.spreads
        size = np.where(row < 0, below, above) * row if below != above else above * row
        np.exp(size, out=size)
        size *= one.p50
        np.rint(size, out=size)
        np.maximum(size, 1, out=size)
        np.minimum(size, NEVER, out=size)
        out[:] = size
    return minutes


@lru_cache(maxsize=4)
def _strata(samples: int) -> Draws:
    """The normal quantiles in the middle of so many equal parts of probability, in order."""
    return np.array([NormalDist().inv_cdf((k + 0.5) / samples) for k in range(samples)])


def draw(name: str, *, samples: int, seed: int) -> Draws:
    """Return standard normal draws that hang on the name and the seed alone.

    Every plan that holds this step or job gets the same numbers for it, whatever else it
    holds. Each part of the distribution is hit once (Latin hypercube), which takes most of the
    noise out of a probability.
    """
    keep = _kept_draw if samples <= MOST_KEPT_SAMPLES else _draw
    return keep(name, samples, seed)


def _draw(name: str, samples: int, seed: int) -> Draws:
    key = int.from_bytes(blake2b(f"{seed} {name}".encode(), digest_size=8).digest())
    return np.random.Generator(np.random.Philox(key=key)).permutation(_strata(samples))


_kept_draw = lru_cache(maxsize=1024)(_draw)
