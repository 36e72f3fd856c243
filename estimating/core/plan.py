"""The choice of one item for each panel: an exact multiple-choice knapsack.

Costs are whole cents and gains whole steps, so that "exact" means what it says.
Panel by panel, the partial choices that nothing beats are kept, and only those: a
part that is beaten cannot be part of a whole that is not. The finish curve is what
is left after the last panel.

A partial choice is one whole number, its cost in the high bits and the gain it lacks
of all gain there is in the low ones. Adding an item is then one addition, and the
order of numbers is that of costs, at equal cost the greater gain first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


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
        The items of each panel; exactly one of each group is taken. Costs and gains
        are at least 0.
    """

    def __init__(self, groups: Sequence[Sequence[Item]]) -> None:
        if any(not group for group in groups):
            raise ValueError("every group needs at least one item")
        efficient = [_efficient(group) for group in groups]
        # Small groups first: the fronts stay short for as long as possible.
        self._order = sorted(range(len(groups)), key=lambda index: efficient[index][-1].gain)
        self._all_gain = sum(group[-1].gain for group in efficient)
        self._bits = self._all_gain.bit_length()
        self._moves = [
            [((item.cost << self._bits) - item.gain, item.mark) for item in efficient[index]]
            for index in self._order
        ]
        fronts = [[self._all_gain]]
        mask = (1 << self._bits) - 1
        for moves in self._moves:
            fronts.append(_extended(fronts[-1], [move for move, _ in moves], mask))
        self._known = [frozenset(front) for front in fronts[:-1]]
        self.points = [(key >> self._bits, self._all_gain - (key & mask)) for key in fronts[-1]]

    def choice(self, point: tuple[int, int]) -> Choice:
        """The plan behind one of `points`, found by walking the fronts back."""
        cost, gain = point
        marks = [0] * len(self._order)
        key = (cost << self._bits) + self._all_gain - gain
        for position in range(len(self._order) - 1, -1, -1):
            known = self._known[position]
            for move, mark in self._moves[position]:
                if key - move in known:
                    marks[self._order[position]] = mark
                    key -= move
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


def _extended(front: list[int], moves: Sequence[int], mask: int) -> list[int]:
    """The front after one more group: every sum, in order, less what is beaten."""
    # Each run is in order already, which is what Python's sort merges fastest.
    sums = sorted([key + move for move in moves for key in front])
    kept: list[int] = []
    least_lacking = mask + 1
    for key in sums:
        lacking = key & mask
        if lacking < least_lacking:
            least_lacking = lacking
            kept.append(key)
    return kept
