"""The choice of one item for each panel: an exact multiple-choice knapsack.

Costs are whole cents and gains whole steps, so that "exact" means what it says:
for every total gain the cheapest choice is found by dynamic programming over the
panels. The finish curve is the set of choices nothing beats.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

_NOTHING = 1 << 60  # dearer than any plan; kept an int so that sums stay exact


@dataclass(frozen=True, slots=True)
class Item:
    """One way to treat a panel: whole cost, whole gain, and the caller's mark."""

    cost: int
    gain: int
    mark: int


@dataclass(frozen=True, slots=True)
class Choice:
    """A plan: its totals and the mark of the item taken from each group."""

    cost: int
    gain: int
    marks: tuple[int, ...]


class Frontier:
    """All choices that nothing beats, cheapest first.

    Parameters
    ----------
    groups
        The items of each panel; exactly one of each group is taken.
    """

    def __init__(self, groups: Sequence[Sequence[Item]]) -> None:
        if any(not group for group in groups):
            raise ValueError("every group needs at least one item")
        self._groups = [_efficient(group) for group in groups]
        # Small groups first: the tables stay short for as long as possible.
        self._order = sorted(range(len(groups)), key=lambda index: self._groups[index][-1].gain)
        self._tables: list[list[int]] = [[0]]
        for index in self._order:
            self._tables.append(_merge(self._tables[-1], self._groups[index]))
        self.points = _undominated(self._tables[-1])

    def choice(self, point: tuple[int, int]) -> Choice:
        """The plan behind one of `points`, found by walking the tables back."""
        cost, gain = point
        marks = [0] * len(self._groups)
        left_cost, left_gain = cost, gain
        for position in range(len(self._order) - 1, -1, -1):
            index = self._order[position]
            table = self._tables[position]
            for item in self._groups[index]:
                before = left_gain - item.gain
                if 0 <= before < len(table) and table[before] == left_cost - item.cost:
                    marks[index] = item.mark
                    left_gain, left_cost = before, left_cost - item.cost
                    break
            else:
                raise AssertionError("a point of the frontier has no way back")
        return Choice(cost, gain, tuple(marks))

    def cheapest_reaching(self, gain: int) -> tuple[int, int] | None:
        """The cheapest point with at least `gain`, or None where none reaches it."""
        return next((point for point in self.points if point[1] >= gain), None)

    def most_within(self, cost: int) -> tuple[int, int] | None:
        """The point of most gain that costs at most `cost`, or None."""
        best = None
        for point in self.points:
            if point[0] > cost:
                break
            best = point
        return best


def _efficient(group: Sequence[Item]) -> list[Item]:
    """Items of a group that no other item beats, cheapest first."""
    kept: list[Item] = []
    for item in sorted(group, key=lambda item: (item.cost, -item.gain, item.mark)):
        if not kept or item.gain > kept[-1].gain:
            kept.append(item)
    return kept


def _merge(table: list[int], group: Sequence[Item]) -> list[int]:
    """Least cost for every exact gain after one more group."""
    size = len(table) + group[-1].gain
    merged = [_NOTHING] * size
    for item in group:
        start, stop = item.gain, item.gain + len(table)
        cost = item.cost
        merged[start:stop] = map(min, merged[start:stop], [value + cost for value in table])
    return merged


def _undominated(table: list[int]) -> list[tuple[int, int]]:
    """(cost, gain) pairs, from the cheapest up, that no other pair beats."""
    points: list[tuple[int, int]] = []
    best = _NOTHING
    for gain in range(len(table) - 1, -1, -1):
        if table[gain] < best:
            best = table[gain]
            points.append((best, gain))
    points.reverse()
    return points
