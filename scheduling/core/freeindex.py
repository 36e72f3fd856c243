"""Index of free time for the resources of a shop.

Each resource keeps its busy time as bits in blocks of one week, so that a question reads only
the weeks it is about, however many bookings lie before and after. A resource with room for
several keeps one layer for each: layer ``k`` has the slots in which more than ``k`` are in use.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, field
from functools import lru_cache

from scheduling.core.masks import span, spans_of_work
from scheduling.core.problem import Spot
from scheduling.core.values import ProblemError, Window, check_windows, name, whole
from scheduling.core.worktime import common, join, within

WEEK_MINUTES = 7 * 24 * 60
OPENING = "opening hours"
SPANS_KEPT = 4096


@dataclass(frozen=True, slots=True)
class Technician:
    """A person with skills and working windows (breaks and absences already cut out)."""

    id: str
    windows: tuple[Window, ...]
    skills: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        name(self.id, "id")
        check_windows(self.windows, "windows")


@dataclass(frozen=True, slots=True)
class Lamp:
    """An infrared lamp, or a pool of ``capacity`` alike ones."""

    id: str
    capacity: int = 1

    def __post_init__(self) -> None:
        name(self.id, "id")
        whole(self.capacity, "capacity", least=1)


@dataclass(frozen=True, slots=True)
class Resources:
    """Everything a job can hold, with identifiers that are unique across all kinds.

    Parameters
    ----------
    grid : int
        Minutes to a slot; starts, ends and holds are multiples of it.
    horizon : int
        Minutes from the origin up to which anything may be planned.
    spots, crew, lamps
        Bays and parking spots, people, lamps.
    opening : tuple of (int, int)
        Opening hours, in which customers come and vehicles are moved to parking.
    """

    grid: int
    horizon: int
    spots: tuple[Spot, ...]
    crew: tuple[Technician, ...] = ()
    lamps: tuple[Lamp, ...] = ()
    opening: tuple[Window, ...] = ()
    by_id: Mapping[str, Spot | Technician | Lamp] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        whole(self.grid, "grid", least=1)
        whole(self.horizon, "horizon", least=1)
        check_windows(self.opening, "opening")
        found: dict[str, Spot | Technician | Lamp] = {}
        units: tuple[Spot | Technician | Lamp, ...] = (*self.spots, *self.crew, *self.lamps)
        for unit in units:
            if unit.id in found:
                raise ProblemError("id", unit.id, "identifiers must be unique across resources")
            found[unit.id] = unit
        object.__setattr__(self, "by_id", found)


class FreeIndex:
    """Free time of every resource, ready for :func:`scheduling.core.earliest.earliest_fit`.

    Parameters
    ----------
    resources : Resources
        The shop.
    busy : mapping of str to sequence of (int, int)
        Holds by resource identifier, in minutes; a hold that is off the grid is widened to it.

    Notes
    -----
    Holds before the origin or after the horizon are cut off. Absences of people belong into
    their windows, not here: pausable work sleeps over a closed window, not over a hold.
    """

    def __init__(
        self, resources: Resources, busy: Mapping[str, Sequence[Window]] | None = None
    ) -> None:
        self.resources = resources
        self.grid = resources.grid
        self.slots = resources.horizon // resources.grid
        self.block_slots = max(1, WEEK_MINUTES // resources.grid)
        self.blocks = -(-self.slots // self.block_slots) or 1
        self._layers: dict[str, list[list[int]]] = {}
        for unit in resources.by_id.values():
            capacity = 1 if isinstance(unit, Technician) else unit.capacity
            self._layers[unit.id] = [[0] * self.blocks for _ in range(capacity)]
        self.calendars: list[tuple[Window, ...]] = []
        self.calendar_of: dict[str, int] = {}
        self._calendar_blocks: list[list[int]] = []
        self._span_blocks: dict[tuple[tuple[int, ...], int, int], tuple[tuple[int, int], ...]] = {}
        self._read_windows()
        for spot in resources.spots:
            for start, end in spot.closures:
                for _ in range(spot.capacity):
                    self.add(spot.id, start, end)
        for resource_id, holds in (busy or {}).items():
            for start, end in holds:
                self.add(resource_id, start, end)

    def _read_windows(self) -> None:
        """Turn working windows into slots, once for each set of windows people share."""
        same: dict[tuple[Window, ...], int] = {}
        for owner, windows in (
            *((person.id, person.windows) for person in self.resources.crew),
            (OPENING, self.resources.opening),
        ):
            if windows not in same:
                same[windows] = len(self.calendars)
                slots = ((-(-a // self.grid), b // self.grid) for a, b in join(windows))
                self.calendars.append(tuple((a, b) for a, b in slots if b > a))
            self.calendar_of[owner] = same[windows]
        for calendar in self.calendars:
            blocks = [0] * self.blocks
            for start, end in calendar:
                for block, bits in self._bits(start, end):
                    blocks[block] |= bits
            self._calendar_blocks.append(blocks)

    def _bits(self, start: int, end: int) -> Iterable[tuple[int, int]]:
        start, end = max(0, start), min(end, self.blocks * self.block_slots)
        while start < end:
            block, offset = divmod(start, self.block_slots)
            until = min(end, (block + 1) * self.block_slots)
            yield block, span(offset, offset + until - start)
            start = until

    def _slots(self, start: int, end: int) -> tuple[int, int]:
        return start // self.grid, -(-end // self.grid)

    def add(self, resource_id: str, start: int, end: int) -> None:
        """Hold one unit of a resource for ``[start, end)`` minutes."""
        layers = self._layers[resource_id]
        for block, bits in self._bits(*self._slots(start, end)):
            left = bits
            for layer in layers:
                taken = layer[block]
                layer[block] = taken | left
                left &= taken
                if not left:
                    break

    def remove(self, resource_id: str, start: int, end: int) -> None:
        """Give back what :meth:`add` took with the same arguments."""
        layers = self._layers[resource_id]
        for block, bits in self._bits(*self._slots(start, end)):
            left = bits
            for layer in reversed(layers):
                taken = layer[block]
                layer[block] = taken & ~left
                left &= ~taken
                if not left:
                    break

    def copy(self) -> FreeIndex:
        """Return an index of its own with the same holds; what never changes is shared."""
        other = copy(self)
        other._layers = {one: [list(layer) for layer in has] for one, has in self._layers.items()}
        return other

    def staffed(self, resources: Resources) -> FreeIndex:
        """Return the same holds among the same resources, with other working windows."""
        other = self.copy()
        other.resources = resources
        other.calendars, other.calendar_of, other._calendar_blocks = [], {}, []
        other._span_blocks = {}
        other._read_windows()
        return other

    def reset(self, like: FreeIndex, start: int, end: int) -> None:
        """Take over from another index of the same resources what it has in ``[start, end)``."""
        for block, bits in self._bits(*self._slots(start, end)):
            for one, layers in self._layers.items():
                for mine, its in zip(layers, like._layers[one], strict=True):
                    mine[block] = mine[block] & ~bits | its[block] & bits

    def is_free(self, resource_id: str, start: int, end: int) -> bool:
        """Return whether one unit of the resource is free throughout ``[start, end)`` minutes."""
        top = self._layers[resource_id][-1]
        return not any(top[k] & bits for k, bits in self._bits(*self._slots(start, end)))

    def free(self, resource_id: str, first: int, last: int, units: int = 1) -> int:
        """Return the free slots of blocks ``[first, last)``, bit 0 being the first slot.

        Parameters
        ----------
        units : int
            How many units must be free at once.
        """
        layers = self._layers[resource_id]
        return ~self._glue(layers[len(layers) - units], first, last) & self.whole(first, last)

    def worked(self, calendar: int, first: int, last: int) -> int:
        """Return the slots of blocks ``[first, last)`` that lie in the windows of a calendar."""
        return self._glue(self._calendar_blocks[calendar], first, last) & self.whole(first, last)

    def whole(self, first: int, last: int) -> int:
        """Return a mask of all slots of blocks ``[first, last)`` inside the horizon."""
        return span(0, min(last * self.block_slots, self.slots) - first * self.block_slots)

    def work_spans(
        self, calendars: tuple[int, ...], work: int, first: int, last: int
    ) -> list[tuple[int, int]]:
        """Return ``(elapsed, starts)`` of pausable work in the common windows of calendars.

        Parameters
        ----------
        calendars : tuple of int
            Numbers of the calendars of a crew.
        work : int
            Slots of work, at least 1.
        first, last : int
            Blocks ``[first, last)`` in which it starts, bit 0 being their first slot; it may end
            after them.
        """
        glued: dict[int, int] = {}
        for block in range(first, last):
            shift = (block - first) * self.block_slots
            for elapsed, starts in self._spans_from(calendars, work, block):
                glued[elapsed] = glued.get(elapsed, 0) | starts << shift
        return sorted(glued.items())

    def _spans_from(
        self, calendars: tuple[int, ...], work: int, block: int
    ) -> tuple[tuple[int, int], ...]:
        key = (calendars, work, block)
        found = self._span_blocks.get(key)
        if found is None:
            # Work that starts in the block may end a long time after it: look as far as needed.
            size, more = self.block_slots, 1
            while True:
                windows = self._common(calendars, block, block + 1 + more)
                behind = sum(end - max(start, size) for start, end in windows if end > size)
                if behind >= work or block + 1 + more >= self.blocks:
                    break
                more *= 2
            found = _spans_begun(tuple(windows), work, size)
            if len(self._span_blocks) >= SPANS_KEPT:
                self._span_blocks.clear()
            self._span_blocks[key] = found
        return found

    def _common(self, calendars: tuple[int, ...], first: int, last: int) -> list[Window]:
        """Return the common windows of calendars in blocks ``[first, last)``, in slots of them."""
        base = first * self.block_slots
        end = min(last * self.block_slots, self.slots)
        windows = within(self.calendars[calendars[0]], base, end)
        for other in calendars[1:]:
            windows = common(windows, within(self.calendars[other], base, end))
        return [(a - base, b - base) for a, b in windows]

    def _glue(self, blocks: list[int], first: int, last: int) -> int:
        glued = 0
        for k in range(last - 1, first - 1, -1):
            glued = glued << self.block_slots | blocks[k]
        return glued


@lru_cache(maxsize=SPANS_KEPT)
def _spans_begun(windows: tuple[Window, ...], work: int, size: int) -> tuple[tuple[int, int], ...]:
    """Return the spans of work begun in the first ``size`` slots; most weeks are alike."""
    here = span(0, size)
    found = ((elapsed, starts & here) for elapsed, starts in spans_of_work(windows, work))
    return tuple((elapsed, starts) for elapsed, starts in found if starts)
