"""Several resources in one big integer, a lane of bits for each.

What is true of one resource after another (free so long, stood there since) is then worked out
for all of them with the few operations that one would take. A lane has a bit for each moment of
the weeks looked at; the last one is no slot, so nothing is free across the border of two lanes.
"""

from __future__ import annotations

from collections.abc import Sequence

from scheduling.core.masks import at_least, runs, span


class Lanes:
    """The free slots of some resources, side by side.

    Parameters
    ----------
    ids : sequence of str
        The resources in the order of their lanes.
    free : sequence of int
        Free slots of each, in ``[0, size)``.
    size : int
        Slots looked at; moments are ``0`` to ``size``.
    """

    __slots__ = ("_longest", "_runs", "count", "free", "ids", "moments", "number", "stride")

    def __init__(self, ids: Sequence[str], free: Sequence[int], size: int) -> None:
        self.ids = tuple(ids)
        self.count = len(self.ids)
        self.number = {one: k for k, one in enumerate(self.ids)}
        self.stride = size + 1
        self.moments = span(0, self.stride)
        packed = 0
        for mask in reversed(free):
            packed = packed << self.stride | mask
        self.free = packed
        self._runs: dict[int, int] = {0: self.spread(self.moments)}
        self._longest = (1, packed)

    def spread(self, mask: int) -> int:
        """Return the same moments in every lane."""
        lanes = 1
        while lanes * 2 <= self.count:
            mask |= mask << lanes * self.stride
            lanes *= 2
        if lanes < self.count:
            mask |= mask << (self.count - lanes) * self.stride
        return mask

    def anywhere(self, packed: int) -> int:
        """Return the moments that are set in any lane."""
        lanes = self.count
        while lanes > 1:
            lanes = (lanes + 1) // 2
            packed |= packed >> lanes * self.stride
        return packed & self.moments

    def at_least(self, packed: int, count: int) -> int:
        """Return the moments that are set in at least ``count`` lanes."""
        if count == 1:
            return self.anywhere(packed)
        return at_least((self.lane(packed, k) for k in range(self.count)), count)

    def lane(self, packed: int, number: int) -> int:
        """Return the moments of one lane."""
        return packed >> number * self.stride & self.moments

    def at(self, packed: int, number: int, moment: int) -> bool:
        """Return whether a moment of a lane is set."""
        return bool(packed >> number * self.stride + moment & 1)

    def free_for(self, slots: int) -> int:
        """Return the moments from which each is free that long."""
        found = self._runs.get(slots)
        if found is None:
            # Lengths are asked for in rising order mostly, so the one before is a good start.
            have, mask = self._longest
            if have > slots:
                have, mask = 1, self.free
            found = self._runs[slots] = runs(mask, slots, have)
            self._longest = slots, found
        return found
