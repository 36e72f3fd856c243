"""Carry the set of all feasible ends forward along a chain of operations.

One :class:`Forward` looks at some weeks of the index. Moments are counted in slots from the
start of its first week; every mask here is a set of moments, or of free slots.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations_with_replacement

from scheduling.core.fit import Chain
from scheduling.core.freeindex import OPENING, FreeIndex, Technician
from scheduling.core.masks import at_least, runs, span, stand, stand_between
from scheduling.core.problem import Frozen, Operation, Spot

Team = tuple[int, ...]
FREE = Frozen()


@dataclass(frozen=True, slots=True)
class Way:
    """One way to do an operation: a mode, an elapsed span and who can do it from when.

    A team names the calendar of each person for pausable work (their common windows are worked);
    it is empty where any qualified people will do.
    """

    mode: int
    slots: int
    starts: int
    teams: tuple[tuple[Team, int], ...]


@dataclass(frozen=True, slots=True)
class Step:
    """Feasible starts and ends of one operation by spot; ``choices`` remember each way."""

    ends: dict[str, int]
    choices: tuple[tuple[str, Way, int], ...]


class Forward:
    """Feasible moments of a chain within blocks ``[first, last)`` of an index.

    ``late`` tells the read-out to place operations as late as they can be for the pick-up
    (a short stay), instead of as early (time in hand).
    """

    def __init__(
        self, chain: Chain, index: FreeIndex, first: int, last: int, not_before: int
    ) -> None:
        self.chain = chain
        self.index = index
        self.first, self.last = first, last
        self.base = first * index.block_slots
        self.moments = index.whole(first, last) << 1 | 1
        self.size = self.moments.bit_length() - 1
        earliest = max(0, -(-not_before // index.grid) - self.base)
        self.late = True
        self.not_before = not_before
        self.after_release = self.moments & ~span(0, earliest)
        self.open = index.worked(index.calendar_of[OPENING], first, last)
        self.open_moments = (self.open | self.open << 1) & self.moments
        self.spots: dict[str, Spot] = {spot.id: spot for spot in index.resources.spots}
        self.parks = [spot.id for spot in index.resources.spots if spot.park]
        self._free: dict[tuple[str, int], int] = {}
        self._runs: dict[tuple[str, int, int], int] = {}
        self._longest: dict[tuple[str, int], tuple[int, int]] = {}
        self._ways: dict[str, tuple[Way, ...]] = {}
        self.steps: list[Step] = []

    def again(self, not_before: int) -> Forward:
        """Return the same look from a later time on, sharing what is known of the resources."""
        other = Forward(self.chain, self.index, self.first, self.last, not_before)
        other._free, other._runs, other._longest = self._free, self._runs, self._longest
        other._ways = self._ways
        return other

    def free(self, resource_id: str, units: int = 1) -> int:
        """Return the slots in which so many units of a resource are free."""
        key = (resource_id, units)
        if key not in self._free:
            self._free[key] = self.index.free(resource_id, self.first, self.last, units)
        return self._free[key]

    def free_for(self, resource_id: str, slots: int, units: int = 1) -> int:
        """Return the moments from which so many units are free for that long."""
        if slots == 0:
            return self.moments
        key = (resource_id, slots, units)
        found = self._runs.get(key)
        if found is None:
            # Lengths are asked for in rising order mostly, so the one before is a good start.
            have, mask = self._longest.get((resource_id, units), (slots + 1, 0))
            if have > slots:
                have, mask = 1, self.free(resource_id, units)
            found = self._runs[key] = runs(mask, slots, have)
            self._longest[resource_id, units] = (slots, found)
        return found

    def run(self) -> int | None:
        """Fill :attr:`steps`; return the number of the operation that fails, if one does."""
        for number, op in enumerate(self.chain.ops):
            reach = self._first_reach() if number == 0 else self.reach(number, op.lag_max)
            step = self._place(op, reach)
            self.steps.append(step)
            if not any(step.ends.values()):
                return number
        return None

    def _first_reach(self) -> dict[str, int]:
        if not self.chain.by_customer:
            return dict.fromkeys(self.spots, self.after_release)
        arrivals = self.open & self.after_release
        parked = {park: stand(arrivals, self.free(park)) for park in self.parks}
        inside = {spot_id: stand(arrivals, self.free(spot_id)) for spot_id in self.spots}
        return self._enter(inside, parked)

    def reach(self, number: int, lag_max: int | None) -> dict[str, int]:
        """Return by spot the moments at which operation ``number`` may start, place aside."""
        op = self.chain.ops[number]
        grid = self.index.grid
        least = -(-op.lag_min // grid)
        most = None if lag_max is None else lag_max // grid
        if most is not None and most < least:
            return {}
        ends = self.steps[number - 1].ends
        stays = {
            spot_id: stand_between(mask, self.free(spot_id), least, most)
            for spot_id, mask in ends.items()
        }
        if op.same_spot:
            return stays
        movable = 0
        for mask in ends.values():
            movable |= mask & self.open_moments
        parked = {park: stand_between(movable, self.free(park), least, most) for park in self.parks}
        return self._enter(stays, parked)

    def _enter(self, stays: dict[str, int], parked: dict[str, int]) -> dict[str, int]:
        """Join standing in a place with coming into it; into parking only in opening hours."""
        anywhere = 0
        for mask in (*stays.values(), *parked.values()):
            anywhere |= mask
        reach = {}
        for spot_id, spot in self.spots.items():
            coming = anywhere & self.open_moments if spot.park else anywhere
            here = stays.get(spot_id, 0) | parked.get(spot_id, 0)
            reach[spot_id] = (coming | here) & self.moments
        return reach

    def _place(self, op: Operation, reach: dict[str, int]) -> Step:
        spots = [
            (spot_id, mask)
            for spot_id, mask in reach.items()
            if mask and op.spot_cap in self.spots[spot_id].caps
        ]
        kept = self.chain.kept.get(op.id, FREE)
        if kept.spot is not None:
            spots = [(spot_id, mask) for spot_id, mask in spots if spot_id == kept.spot]
        ends: dict[str, int] = {}
        choices = []
        wanted = 0
        for _, mask in spots:
            wanted |= mask
        for way in self.ways(op, wanted) if spots else ():
            for spot_id, mask in spots:
                starts = mask & way.starts & self._kept_starts(kept, way.slots)
                if starts:
                    starts &= self.free_for(spot_id, way.slots)
                if starts:
                    choices.append((spot_id, way, starts))
                    ends[spot_id] = ends.get(spot_id, 0) | starts << way.slots
        return Step(ends, tuple(choices))

    def _kept_starts(self, kept: Frozen, slots: int) -> int:
        """Return the moments at which a start keeps what is frozen."""
        starts = self.moments
        for minute, before in ((kept.start, 0), (kept.end, slots)):
            if minute is not None:
                slot, off_grid = divmod(minute, self.index.grid)
                slot -= self.base + before
                starts &= span(slot, slot + 1) if slot >= 0 and not off_grid else 0
        return starts

    def skilled(self, op: Operation) -> list[Technician]:
        """Return the people who can do the operation (only those it must keep, if any)."""
        kept = self.chain.kept.get(op.id, FREE).crew
        return [
            one
            for one in self.index.resources.crew
            if op.skill in one.skills and (kept is None or one.id in kept)
        ]

    def ways(self, op: Operation, wanted: int | None = None) -> tuple[Way, ...]:
        """Return every way to do an operation with the moments at which it can start.

        Parameters
        ----------
        wanted : int, optional
            Moments of interest: others may be left out.
        """
        if op.id not in self._ways:
            wanted = self.moments if wanted is None else wanted
            self._ways[op.id] = tuple(self._find_ways(op, wanted))
        return self._ways[op.id]

    def _find_ways(self, op: Operation, wanted: int) -> Iterator[Way]:
        for number, mode in enumerate(op.modes):
            slots = -(-mode.dur // self.index.grid)
            staffed: dict[int, list[tuple[Team, int]]] = {}
            for elapsed, team, starts in self._staffed(op, slots, wanted):
                staffed.setdefault(elapsed, []).append((team, starts))
            for elapsed, teams in sorted(staffed.items()):
                allowed = self._lit(mode.lamps, elapsed)
                if op.open_hours:
                    allowed &= runs(self.open, elapsed) if elapsed else self.open_moments
                anyone = 0
                for _, starts in teams:
                    anyone |= starts
                if anyone & allowed:
                    yield Way(number, elapsed, anyone & allowed, tuple(teams))

    def _lit(self, lamps: int, slots: int) -> int:
        if not lamps:
            return self.moments
        free = (
            self.free_for(lamp.id, slots, units)
            for lamp in self.index.resources.lamps
            for units in range(1, lamp.capacity + 1)
        )
        return at_least(free, lamps)

    def _staffed(self, op: Operation, slots: int, wanted: int) -> Iterator[tuple[int, Team, int]]:
        if not op.attended:
            yield slots, (), self.moments
        elif not op.pausable or not slots:
            able = (self.at_work_for(one, slots) for one in self.skilled(op))
            yield slots, (), at_least(able, op.crew)
        else:
            yield from self._paused(op, slots, wanted)

    def at_work_for(self, person: Technician, slots: int) -> int:
        """Return the moments from which a person works that long without a break or a hold."""
        key = (f"{person.id} at work", slots, 1)
        if key not in self._runs:
            calendar = self.index.calendar_of[person.id]
            work = self.index.worked(calendar, self.first, self.last)
            if slots:  # what takes no time needs somebody at work, but nobody's time
                work &= self.free(person.id)
            self._runs[key] = runs(work, slots)
        return self._runs[key]

    def _paused(self, op: Operation, work: int, wanted: int) -> Iterator[tuple[int, Team, int]]:
        classes: dict[int, list[Technician]] = {}
        for one in self.skilled(op):
            classes.setdefault(self.index.calendar_of[one.id], []).append(one)
        free_class: dict[tuple[int, int, int], int] = {}
        for team in combinations_with_replacement(sorted(classes), op.crew):
            needed = Counter(team)
            if any(count > len(classes[calendar]) for calendar, count in needed.items()):
                continue
            for elapsed, worked in self.index.work_spans(
                tuple(needed), work, self.first, self.last
            ):
                starts = worked & wanted
                for calendar, count in needed.items() if starts else ():
                    key = (calendar, count, elapsed)
                    if key not in free_class:
                        able = (self.free_for(one.id, elapsed) for one in classes[calendar])
                        free_class[key] = at_least(able, count)
                    starts &= free_class[key]
                if starts:
                    yield elapsed, team, starts
