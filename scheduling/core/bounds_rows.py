"""Resources of a week as rows of prices: one price for each unit and slot.

Alike spots share a row. An interval that stays in one of them can always be told which one it
has, so nothing is lost by counting them together; people are rows of their own, because who
works with whom depends on their calendars.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from scheduling.core.freeindex import FreeIndex
from scheduling.core.problem import Spot, Week

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Whole = npt.NDArray[np.int64]
Hold = tuple[int, int, int, int]
"""Row, first slot, last slot (not held any more), units."""
CLOSED_PRICE = 1e6
"""Points to stand a slot in a closed spot: more than any week is worth, yet exact enough."""


def bits_of(mask: int, count: int) -> Flags:
    """Return the lowest ``count`` bits of a mask as flags."""
    raw = np.frombuffer(mask.to_bytes(count // 8 + 1 + mask.bit_length() // 8, "little"), np.uint8)
    return np.unpackbits(raw, count=count, bitorder="little").astype(bool)


class Rows:
    """Rows of a week's resources.

    Attributes
    ----------
    capacity : ndarray of float, shape (rows, slots)
        Units that are there.
    priced : ndarray of bool, shape (rows, slots)
        Where a price may stand. Nobody but who works can be short: two operations of a person
        that overlap do so in a slot that the person works.
    fixed : ndarray of float, shape (rows, slots)
        Price of what is closed; no bound pays it back, as nothing is there.
    spot_row, person_row : dict of str to int
        Row of each spot and person by identifier; spots come first.
    lamps : int
        Row of the lamps.
    """

    def __init__(self, week: Week, empty: FreeIndex) -> None:
        self.slots, self.grid = empty.slots, empty.grid
        resources = empty.resources
        named = {f"spot {kept.spot}" for kept in week.frozen.values() if kept.spot is not None}
        self.spot_row: dict[str, int] = {}
        alike: dict[object, list[Spot]] = {}
        for spot in resources.spots:
            own = spot.id if spot.id in named else ""
            alike.setdefault((spot.caps, spot.closures, spot.park, own), []).append(spot)
        for row, group in enumerate(alike.values()):
            self.spot_row |= {spot.id: row for spot in group}
        self.spots = len(alike)
        self.parks = np.array([group[0].park for group in alike.values()], bool)
        self.person_row = {one.id: self.spots + k for k, one in enumerate(resources.crew)}
        self.lamps = self.spots + len(resources.crew)
        self.count = self.lamps + 1
        self.capacity: Floats = np.ones((self.count, self.slots))
        self.priced: Flags = np.ones((self.count, self.slots), bool)
        self.fixed: Floats = np.zeros((self.count, self.slots))
        for row, group in enumerate(alike.values()):
            self._room(row, group)
        for person, row in self.person_row.items():
            work = empty.worked(empty.calendar_of[person], 0, empty.blocks)
            self.priced[row] = bits_of(work, self.slots)
        self.capacity[self.lamps] = sum(lamp.capacity for lamp in resources.lamps)

    def _room(self, row: int, group: list[Spot]) -> None:
        self.capacity[row] = sum(spot.capacity for spot in group)
        for start, end in group[0].closures:
            closed = slice(start // self.grid, -(-end // self.grid))
            self.capacity[row, closed] = 0
            self.priced[row, closed] = False
            self.fixed[row, closed] = CLOSED_PRICE

    def add(self, used: Floats, holds: Iterable[Hold], sign: int = 1) -> None:
        """Add what is held to (or with ``sign`` -1 take it from) what is used."""
        for row, start, end, units in holds:
            used[row, start:end] += sign * units
