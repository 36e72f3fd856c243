"""The cheapest way to do one job when every resource has a price at every slot.

A dynamic programme over operation, spot and moment, on whole arrays of moments at once. Costs
in a spot are kept less what the spot costs up to that moment: then standing there is free, and
only coming and going is paid.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scheduling.core.bounds_rows import Flags, Floats, Hold, Rows, bits_of
from scheduling.core.bounds_ways import Stage, Ways, stages_of
from scheduling.core.freeindex import FreeIndex
from scheduling.core.problem import Job, Week

NEVER = np.inf


@dataclass(frozen=True, slots=True)
class Path:
    """The cheapest way: its cost in points, prices included, and what it holds.

    ``end`` is the slot of its end; ``None`` says that it ends after the window that was looked
    at. Then it holds nothing and its cost is less than it would be.
    """

    cost: float
    holds: tuple[Hold, ...]
    end: int | None


class JobPaths:
    """Prices one job.

    Parameters
    ----------
    week, job
        The problem; changes against a preferred plan are left out, which only lowers a bound.
    rows : Rows
        What has prices.
    empty : FreeIndex
        The same resources with nothing placed.
    """

    def __init__(self, week: Week, job: Job, rows: Rows, empty: FreeIndex) -> None:
        self.rows, self.move = rows, week.objective.move
        self.first, forward, self._stages = stages_of(week, job, rows, empty)
        self._open = bits_of(forward.open_moments, rows.slots + 1)[self.first :]
        self.earliest = min(int(ways.ends[0]) for ways in self._stages[-1].ways) + self.first
        goal = week.objective
        ends = np.arange(self.first, rows.slots + 1) * week.grid
        late = goal.tardiness * job.weight * np.maximum(0, ends - job.due)
        self.worth: Floats = (late + goal.flow * (ends - job.release)) / goal.per
        if job.told is not None:
            self.worth += goal.change * (ends > job.told)
        self._parks = np.flatnonzero(rows.parks)
        self.look_until(rows.slots)

    def look_until(self, last: int) -> None:
        """Look at ways that end at this slot at the latest; later ones count as just later."""
        self.last = min(last, self.rows.slots)
        self.size = self.last - self.first + 1
        self._beyond = NEVER if self.last == self.rows.slots else float(self.worth[self.size])
        self._closed: Flags = ~self._open[: self.size]
        self.stages = [
            Stage(
                one.spots,
                tuple(ways.until(self.size - 1) for ways in one.ways),
                one.least,
                one.most,
                one.same_spot,
            )
            for one in self._stages
        ]

    def slope(self, slots: int) -> float:
        """Return what a slot of delay costs in the mean of so many after the earliest end."""
        begin = self.earliest - self.first
        end = min(begin + slots, len(self.worth) - 1)
        return float(self.worth[end] - self.worth[begin]) / max(1, end - begin)

    def cheapest(self, prices: Floats) -> Path:
        """Return the cheapest way.

        Parameters
        ----------
        prices : ndarray of float, shape (rows, slots)
            Points for a unit of each row in each slot, at least 0.
        """
        paid = np.zeros((self.rows.count, self.size))
        np.cumsum(prices[:, self.first : self.last], axis=1, out=paid[:, 1:])
        return _Pricing(self, paid).path()

    def beyond(self) -> float:
        """Return what it costs at least to end after the window."""
        return self._beyond


class _Pricing:
    """One pricing: costs of having come, of having ended, and of each way, by operation."""

    def __init__(self, job: JobPaths, paid: Floats) -> None:
        self.job, self.paid = job, paid
        self.stood = paid[: job.rows.spots]
        self.parked = self.stood[job._parks]
        self.come: list[Floats] = []
        self.ended: list[Floats] = []
        self.priced: list[list[Floats]] = []
        for number, stage in enumerate(job.stages):
            come = self._gap(number, stage) if number else -self.stood[stage.spots]
            self.come.append(come)
            self._work(stage, come)

    def _work(self, stage: Stage, come: Floats) -> None:
        ended = np.full(come.shape, NEVER)
        prices = []
        for ways in stage.ways:
            price = ways.price(self.paid, self.job.rows.lamps)
            cost = come[:, ways.starts] + price
            if len(stage.ways) > 1:
                cost = np.minimum(cost, ended[:, ways.ends])
            ended[:, ways.ends] = cost
            prices.append(price)
        self.priced.append(prices)
        self.ended.append(ended)

    def _gap(self, number: int, stage: Stage) -> Floats:
        """Return the costs to be in a spot of this stage, from the ends of the one before."""
        before, ended = self.job.stages[number - 1], self.ended[-1]
        stays = least_before(ended, stage.least, stage.most)
        row_of = {int(spot): k for k, spot in enumerate(before.spots)}
        if stage.same_spot:
            same: Floats = stays[[row_of[int(spot)] for spot in stage.spots]]
            return same
        parks, move, closed = self.job._parks, self.job.move, self.job._closed
        anywhere = (stays + self.stood[before.spots]).min(axis=0)
        waits = np.empty((0, self.job.size))
        if len(parks):
            leaving = (ended + self.stood[before.spots]).min(axis=0) + move
            leaving[closed] = NEVER
            waits = least_before(leaving - self.parked, stage.least, stage.most)
            np.minimum(anywhere, (waits + self.parked).min(axis=0), out=anywhere)
        anywhere += move
        come: Floats = anywhere - self.stood[stage.spots]
        park_of = {int(spot): k for k, spot in enumerate(parks)}
        for k, spot in enumerate(stage.spots.tolist()):
            if spot in park_of:
                come[k, closed] = NEVER
                np.minimum(come[k], waits[park_of[spot]], out=come[k])
            if spot in row_of:
                np.minimum(come[k], stays[row_of[spot]], out=come[k])
        return come

    def path(self) -> Path:
        """Return the cheapest way, read backwards from its end."""
        job = self.job
        whole = self.ended[-1] + self.stood[job.stages[-1].spots]
        whole += job.worth[: job.size]
        where, end = divmod(int(whole.argmin()), job.size)
        cost = float(whole[where, end])
        if job.beyond() < cost:
            return Path(job.beyond(), (), None)
        holds: list[Hold] = []
        last = end
        for number in range(len(job.stages) - 1, -1, -1):
            start = self._read_work(number, where, end, holds)
            if number:
                where, end = self._read_gap(number, where, start, holds)
        first = job.first
        return Path(cost, tuple((r, a + first, b + first, u) for r, a, b, u in holds), last + first)

    def _read_work(self, number: int, where: int, end: int, holds: list[Hold]) -> int:
        stage, come = self.job.stages[number], self.come[number][where]
        found: tuple[float, Ways, int] | None = None
        for ways, price in zip(stage.ways, self.priced[number], strict=True):
            k = int(np.searchsorted(ways.ends, end))
            if k < len(ways.ends) and ways.ends[k] == end:
                cost = float(come[ways.starts[k]] + price[k])
                if found is None or cost < found[0]:
                    found = (cost, ways, int(ways.starts[k]))
        if found is None:
            raise AssertionError("an end without a way")
        _, ways, start = found
        for people, count in ways.crew:
            each = self.paid[people, end] - self.paid[people, start]
            for k in np.argsort(each, kind="stable")[:count]:
                holds.append((int(people[k]), start, end, 1))
        if ways.lamps:
            holds.append((self.job.rows.lamps, start, end, ways.lamps))
        holds.append((int(stage.spots[where]), start, end, 1))
        return start

    def _read_gap(self, number: int, where: int, start: int, holds: list[Hold]) -> tuple[int, int]:
        """Return where and when the operation before ended; hold what is stood in between."""
        stage, before = self.job.stages[number], self.job.stages[number - 1]
        spot, move = int(stage.spots[where]), self.job.move
        low = 0 if stage.most is None else max(0, start - stage.most)
        ended = self.ended[number - 1][:, low : start - stage.least + 1]
        enters = not (self.job.rows.parks[spot] and self.job._closed[start])
        tries: list[tuple[float, int, int, int]] = []
        for k, other in enumerate(before.spots.tolist()):
            if other == spot or (enters and not stage.same_spot):
                at = int(ended[k].argmin())
                extra = self.stood[other, start] + move - self.stood[spot, start]
                cost = ended[k, at] + (0.0 if other == spot else extra)
                tries.append((float(cost), k, at, other))
        if not stage.same_spot and len(self.job._parks):
            stood = self.stood[before.spots, low : start - stage.least + 1]
            whole = ended + stood
            from_spot = whole.argmin(axis=0)
            leaving = whole.min(axis=0) + move
            leaving[self.job._closed[low : start - stage.least + 1]] = NEVER
            for park in self.job._parks.tolist():
                if park != spot and not enters:
                    continue
                costs = leaving - self.stood[park, low : start - stage.least + 1]
                at = int(costs.argmin())
                extra = self.stood[park, start] + move - self.stood[spot, start]
                cost = costs[at] + (0.0 if park == spot else extra)
                tries.append((float(cost), int(from_spot[at]), at, park))
        _, k, at, stood_at = min(tries)
        if at + low < start:
            holds.append((stood_at, at + low, start, 1))
        return k, at + low


def least_before(costs: Floats, least: int, most: int | None) -> Floats:
    """Return for each moment the least cost of a moment ``least`` to ``most`` before it.

    Parameters
    ----------
    costs : ndarray of float, shape (rows, moments)
        Costs by moment.
    """
    if most is None:
        found = np.minimum.accumulate(costs, axis=1)
    else:
        found, have = costs, 1
        while have < most - least + 1:
            step = min(have, most - least + 1 - have)
            wider = found.copy()
            np.minimum(found[:, step:], found[:, :-step], out=wider[:, step:])
            found, have = wider, have + step
    if not least:
        return found
    moved = np.full(found.shape, NEVER)
    moved[:, least:] = found[:, : found.shape[1] - least]
    return moved


def total_of(paths: Sequence[Path]) -> float:
    """Return the sum of the costs of paths."""
    return sum(path.cost for path in paths)
