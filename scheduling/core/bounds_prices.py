"""A proven lower bound of a week from prices of its scarce time (Lagrangian relaxation).

Nobody checks any more that two jobs do not want the same bay or person at once. Instead every
unit of everything has a price in every slot, each job takes its cheapest way by itself
(:mod:`scheduling.core.bounds_path`), and what is there is paid back. Whatever the prices, as
long as none is negative, no plan costs less than the jobs' ways together less what is paid back:
a plan pays for each unit at most what is paid back for it. Good prices make a strong bound.

Prices rise where jobs want more than there is and fall where they want less, after each single
job, so that the next one already sees it. Bounds are taken at the mean of the prices of a few
sweeps: the prices themselves swing around it.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from math import ceil, gcd, lcm

import numpy as np

from scheduling.core.bounds_path import JobPaths, Path
from scheduling.core.bounds_rows import Floats, Hold, Rows
from scheduling.core.freeindex import FreeIndex
from scheduling.core.problem import Week

SWEEPS = 8
"""Sweeps over all jobs between two bounds."""
FASTER, SLOWER = 1.5, 0.75
IDLE_TURNS, IDLE_SHARE = 6, 2e-5
LOOK_DAYS, SLOPE_DAYS = 4, 1
DAY_MINUTES = 24 * 60
MOST_SHARED = 10_000
"""A price such as 0.1 is no short fraction in binary: then nothing is rounded."""
SAFETY = 1e-7
"""Share of all sums that is given up for the rounding of floating-point numbers."""


class PriceBound:
    """Prices of a week's scarce time and the best bound they gave.

    Parameters
    ----------
    week : Week
        The problem; each of its jobs can be done in an empty shop.
    empty : FreeIndex
        Its resources with nothing placed.
    known : float
        A bound that is proven already.
    extra : float
        Points that every plan costs besides what its jobs cost (of the makespan).
    seed : int
        Of the order of jobs.
    """

    def __init__(
        self, week: Week, empty: FreeIndex, *, known: float = 0.0, extra: float = 0.0, seed: int = 1
    ) -> None:
        self.week, self.extra = week, extra
        self.bound = known
        self.rows = Rows(week, empty)
        self.jobs = [JobPaths(week, job, self.rows, empty) for job in week.jobs]
        look = LOOK_DAYS * DAY_MINUTES // week.grid
        for one in self.jobs:
            one.look_until(one.earliest + look)
        self.prices: Floats = np.zeros_like(self.rows.capacity)
        self._used: Floats = np.zeros_like(self.prices)
        self._holds: list[tuple[Hold, ...]] = [() for _ in self.jobs]
        self._rng = np.random.default_rng(seed)
        self._step = self._slope(SLOPE_DAYS) or self._slope(LOOK_DAYS) or 1.0
        self._last_gain, self._idle = 0.0, 0
        self._best_prices = self.prices
        self._best_value = float("-inf")
        self._first = True
        self.grain = grain_of(week)

    def improve(self, stop: Callable[[], bool] = lambda: False) -> float:
        """Sweep over the jobs a few times and take the bound; return the best one so far.

        Parameters
        ----------
        stop : callable
            Is asked after each job; once it says yes, nothing more is done.
        """
        mean = np.zeros_like(self.prices)
        for _ in range(SWEEPS):
            self._sweep(stop)
            mean += self.prices
        mean /= SWEEPS
        value = self._value_at(mean, stop)
        if value is not None:
            self._steer(value, mean)
            self.bound = max(self.bound, self._proven(value, mean))
        return self.bound

    @property
    def settled(self) -> bool:
        """Whether the last few turns gained next to nothing."""
        return self._idle >= IDLE_TURNS

    def _slope(self, days: int) -> float:
        """Return what a slot of delay costs a job in the mean: about what prices come to."""
        slots = days * DAY_MINUTES // self.week.grid
        return sum(one.slope(slots) for one in self.jobs) / max(1, len(self.jobs))

    def _value_at(self, prices: Floats, stop: Callable[[], bool]) -> float | None:
        """Return the bound that prices give, but for the safety of rounding."""
        total = self.extra - float((prices * self.rows.capacity).sum())
        for one in self.jobs:
            if stop():
                return None
            total += self._price(one, prices + self.rows.fixed).cost
        return total

    def _sweep(self, stop: Callable[[], bool]) -> None:
        size = self._step / len(self.jobs)
        for k in self._rng.permutation(len(self.jobs)):
            if stop():
                return
            path = self._price(self.jobs[k], self.prices + self.rows.fixed)
            self.rows.add(self._used, self._holds[k], -1)
            self.rows.add(self._used, path.holds)
            self._holds[k] = path.holds
            if not self._first:
                short = self._used - self.rows.capacity
                short *= self.rows.priced
                short *= size
                self.prices += short
                np.maximum(self.prices, 0.0, out=self.prices)
        self._first = False

    def _price(self, one: JobPaths, prices: Floats) -> Path:
        """Return the cheapest way; look further next time if it ends after the window."""
        path = one.cheapest(prices)
        if path.end is None:
            one.look_until(one.last + (one.last - one.first) // 2)
        return path

    def _steer(self, value: float, mean: Floats) -> None:
        """Step further while that pays, else less far; go back from where it got worse."""
        gain = value - self._best_value
        self._idle = self._idle + 1 if abs(gain) <= IDLE_SHARE * abs(value) else 0
        if gain > 0:
            self._best_value, self._best_prices = value, mean
        else:
            self.prices = self._best_prices.copy()
        self._step *= FASTER if gain > 0.8 * self._last_gain > 0 else SLOWER
        self._last_gain = gain

    def _proven(self, value: float, prices: Floats) -> float:
        """Return the bound with the safety of rounding, raised to the next possible value."""
        back = float((prices * self.rows.capacity).sum())
        safe = value - SAFETY * (1.0 + abs(value) + back)
        if self.grain is None:
            return safe
        return float(ceil(Fraction(safe) / self.grain) * self.grain)


def grain_of(week: Week) -> Fraction | None:
    """Return a number of which every objective of a week is a whole multiple, if one is known."""
    goal, grid = week.objective, week.grid
    weights = [
        *(Fraction(goal.tardiness) * Fraction(job.weight) * grid / goal.per for job in week.jobs),
        Fraction(goal.flow) * grid / goal.per,
        Fraction(goal.makespan) * grid / goal.per,
        Fraction(goal.move),
        Fraction(goal.change),
    ]
    weights = [weight for weight in weights if weight]
    shared = lcm(1, *(weight.denominator for weight in weights))
    if not weights or shared > MOST_SHARED:
        return None
    return Fraction(gcd(*(int(weight * shared) for weight in weights)), shared)
