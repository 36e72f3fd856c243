"""Carry the set of all feasible ends forward along a chain of operations.

One :class:`Forward` looks at some weeks of the index. Moments are counted in slots from the
start of its first week; every mask here is a set of moments, or of free slots.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import combinations_with_replacement

from scheduling.core.fit import Chain
from scheduling.core.freeindex import OPENING, FreeIndex, Technician
from scheduling.core.lanes import Lanes
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
    """Feasible starts and ends of one operation, a lane for each spot that can do it."""

    lanes: Lanes
    reached: int
    by_way: tuple[tuple[Way, int], ...]

    @property
    def ends(self) -> dict[str, int]:
        """Feasible ends by spot, those that have any."""
        lanes, reached = self.lanes, self.reached
        masks = ((one, lanes.lane(reached, k)) for k, one in enumerate(lanes.ids))
        return {one: mask for one, mask in masks if mask}

    @property
    def choices(self) -> tuple[tuple[str, Way, int], ...]:
        """Feasible starts by spot and way."""
        lanes = self.lanes
        return tuple(
            (one, way, starts)
            for way, packed in self.by_way
            for k, one in enumerate(lanes.ids)
            if (starts := lanes.lane(packed, k))
        )


class Forward:
    """Feasible moments of a chain within blocks ``[first, last)`` of an index.

    ``late`` tells the read-out to place operations as late as they can be for the pick-up
    (a short stay), instead of as early (time in hand). ``cut``, slots from the start of the
    index, narrows the look to a part of the blocks.
    """

    def __init__(
        self,
        chain: Chain,
        index: FreeIndex,
        first: int,
        last: int,
        not_before: int,
        cut: tuple[int, int] | None = None,
    ) -> None:
        self.chain = chain
        self.index = index
        self.first, self.last = first, last
        self.cut = cut
        whole = index.whole(first, last).bit_length()
        low = first * index.block_slots
        self.base, stop = (low, low + whole) if cut is None else cut
        self._skip = self.base - low
        self.size = stop - self.base
        self.slots = span(0, self.size)
        self.moments = self.slots << 1 | 1
        earliest = max(0, -(-not_before // index.grid) - self.base)
        self.late = True
        self.not_before = not_before
        self.after_release = self.moments & ~span(0, earliest)
        self.open = self._worked(index.calendar_of[OPENING])
        self.open_moments = (self.open | self.open << 1) & self.moments
        self.spots: dict[str, Spot] = {spot.id: spot for spot in index.resources.spots}
        self.parks = [spot.id for spot in index.resources.spots if spot.park]
        self._free: dict[tuple[str, int], int] = {}
        self._runs: dict[tuple[str, int, int], int] = {}
        self._lanes: dict[tuple[str, tuple[str, ...]], Lanes] = {}
        self._ways: dict[str, tuple[Way, ...]] = {}
        self.steps: list[Step] = []

    def again(self, not_before: int) -> Forward:
        """Return the same look from a later time on, sharing what is known of the resources."""
        other = Forward(self.chain, self.index, self.first, self.last, not_before, self.cut)
        other._free, other._runs, other._lanes = self._free, self._runs, self._lanes
        other._ways = self._ways
        return other

    def _worked(self, calendar: int) -> int:
        return self.index.worked(calendar, self.first, self.last) >> self._skip & self.slots

    def free(self, resource_id: str, units: int = 1) -> int:
        """Return the slots in which so many units of a resource are free."""
        key = (resource_id, units)
        found = self._free.get(key)
        if found is None:
            whole = self.index.free(resource_id, self.first, self.last, units)
            found = self._free[key] = whole >> self._skip & self.slots
        return found

    def free_for(self, resource_id: str, slots: int, units: int = 1) -> int:
        """Return the moments from which so many units are free for that long."""
        if slots == 0:
            return self.moments
        key = (resource_id, slots, units)
        found = self._runs.get(key)
        if found is None:
            found = self._runs[key] = runs(self.free(resource_id, units), slots)
        return found

    def is_free(self, resource_id: str, start: int, slots: int, units: int = 1) -> bool:
        """Return whether so many units are free for that long from one moment on."""
        wanted = span(0, slots)
        return self.free(resource_id, units) >> start & wanted == wanted

    def is_at_work(self, person: str, start: int, slots: int) -> bool:
        """Return whether a person works that long without a break or a hold from a moment on."""
        if not slots:
            return bool(self._worked(self.index.calendar_of[person]) >> start & 1)
        wanted = span(0, slots)
        return self._at_work(person) >> start & wanted == wanted

    def lanes_of(self, ids: tuple[str, ...]) -> Lanes:
        """Return spots or people side by side."""
        return self._side_by_side("free", ids, self.free)

    def _side_by_side(
        self, what: str, ids: tuple[str, ...], mask_of: Callable[[str], int]
    ) -> Lanes:
        key = (what, ids)
        found = self._lanes.get(key)
        if found is None:
            found = self._lanes[key] = Lanes(ids, [mask_of(one) for one in ids], self.size)
        return found

    def run(self) -> int | None:
        """Fill :attr:`steps`; return the number of the operation that fails, if one does."""
        for number, op in enumerate(self.chain.ops):
            lanes = self.lanes_of(self._able(op))
            if number == 0:
                reach = self._first_reach(lanes)
            else:
                reach = self._reach(number, op.lag_max, lanes)
            step = self._place(op, lanes, reach)
            self.steps.append(step)
            if not step.reached:
                return number
        return None

    def _able(self, op: Operation) -> tuple[str, ...]:
        kept = self.chain.kept.get(op.id, FREE).spot
        return tuple(
            spot_id
            for spot_id, spot in self.spots.items()
            if op.spot_cap in spot.caps and (kept is None or spot_id == kept)
        )

    def _first_reach(self, lanes: Lanes) -> int:
        if not self.chain.by_customer:
            return lanes.spread(self.after_release)
        everywhere = self.lanes_of(tuple(self.spots))
        arrivals = self.open & self.after_release
        inside = stand(everywhere.spread(arrivals), everywhere.free)
        return self._enter(lanes, everywhere.anywhere(inside), (everywhere, inside))

    def reach(self, number: int, lag_max: int | None) -> dict[str, int]:
        """Return by spot the moments at which operation ``number`` may start, place aside."""
        lanes = self.lanes_of(tuple(self.spots))
        packed = self._reach(number, lag_max, lanes)
        return {one: lanes.lane(packed, k) for k, one in enumerate(lanes.ids)}

    def _reach(self, number: int, lag_max: int | None, lanes: Lanes) -> int:
        op, before = self.chain.ops[number], self.steps[number - 1]
        grid = self.index.grid
        least = -(-op.lag_min // grid)
        most = None if lag_max is None else lag_max // grid
        if most is not None and most < least:
            return 0
        stays = stand_between(before.reached, before.lanes.free, least, most)
        if op.same_spot:
            return _moved(stays, before.lanes, lanes)
        anywhere = before.lanes.anywhere(stays)
        parks = self.lanes_of(tuple(self.parks))
        movable = before.lanes.anywhere(before.reached) & self.open_moments
        parked = stand_between(parks.spread(movable), parks.free, least, most) if parks.ids else 0
        anywhere |= parks.anywhere(parked)
        return self._enter(lanes, anywhere, (before.lanes, stays), (parks, parked))

    def _enter(self, lanes: Lanes, anywhere: int, *standing: tuple[Lanes, int]) -> int:
        """Join standing in a place with coming into it; into parking only in opening hours."""
        reach = lanes.spread(anywhere)
        closed = anywhere & ~self.open_moments
        for number, spot_id in enumerate(lanes.ids):
            if not self.spots[spot_id].park:
                continue
            here = 0
            for others, packed in standing:
                if spot_id in others.number:
                    here |= others.lane(packed, others.number[spot_id])
            reach &= ~((closed & ~here) << number * lanes.stride)
        return reach

    def _place(self, op: Operation, lanes: Lanes, reach: int) -> Step:
        kept = self.chain.kept.get(op.id, FREE)
        reached = 0
        by_way = []
        for way in self.ways(op, lanes.anywhere(reach)) if reach else ():
            allowed = way.starts & self._kept_starts(kept, way.slots)
            starts = reach & lanes.free_for(way.slots) & lanes.spread(allowed) if allowed else 0
            if starts:
                by_way.append((way, starts))
                reached |= starts << way.slots
        return Step(lanes, reached, tuple(by_way))

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
        units = tuple(
            f"{unit} {lamp.id}"
            for lamp in self.index.resources.lamps
            for unit in range(1, lamp.capacity + 1)
        )
        lanes = self._side_by_side("lamps", units, self._free_lamp)
        return lanes.at_least(lanes.free_for(slots), lamps)

    def _free_lamp(self, unit: str) -> int:
        units, _, lamp_id = unit.partition(" ")
        return self.free(lamp_id, int(units))

    def _staffed(self, op: Operation, slots: int, wanted: int) -> Iterator[tuple[int, Team, int]]:
        if not op.attended:
            yield slots, (), self.moments
        elif not op.pausable or not slots:
            people = tuple(one.id for one in self.skilled(op))
            if slots:
                lanes = self._side_by_side("at work", people, self._at_work)
                yield slots, (), lanes.at_least(lanes.free_for(slots), op.crew)
            else:  # what takes no time needs somebody at work, but nobody's time
                there = (self._worked(self.index.calendar_of[one]) for one in people)
                yield slots, (), at_least(there, op.crew)
        else:
            yield from self._paused(op, slots, wanted)

    def _at_work(self, person: str) -> int:
        """Return the slots in which a person is at work and free."""
        return self._worked(self.index.calendar_of[person]) & self.free(person)

    def at_work_for(self, person: Technician, slots: int) -> int:
        """Return the moments from which a person works that long without a break or a hold."""
        if not slots:
            return self._worked(self.index.calendar_of[person.id])
        key = (f"{person.id} at work", slots, 1)
        if key not in self._runs:
            self._runs[key] = runs(self._at_work(person.id), slots)
        return self._runs[key]

    def _paused(self, op: Operation, work: int, wanted: int) -> Iterator[tuple[int, Team, int]]:
        classes: dict[int, tuple[str, ...]] = {}
        for one in self.skilled(op):
            calendar = self.index.calendar_of[one.id]
            classes[calendar] = (*classes.get(calendar, ()), one.id)
        for team in combinations_with_replacement(sorted(classes), op.crew):
            needed = Counter(team)
            if any(count > len(classes[calendar]) for calendar, count in needed.items()):
                continue
            for elapsed, worked in self.index.work_spans(
                tuple(needed), work, self.first, self.last
            ):
                starts = worked >> self._skip & wanted
                for calendar, count in needed.items() if starts else ():
                    starts &= self._free_class(classes[calendar], count, elapsed)
                if starts:
                    yield elapsed, team, starts

    def _free_class(self, people: tuple[str, ...], count: int, slots: int) -> int:
        """Return the moments from which so many of these people have no hold for that long."""
        key = (" ".join(people), slots, count)
        found = self._runs.get(key)
        if found is None:
            lanes = self.lanes_of(people)
            found = self._runs[key] = lanes.at_least(lanes.free_for(slots), count)
        return found


def _moved(packed: int, old: Lanes, new: Lanes) -> int:
    """Return the moments of the same spots in other lanes."""
    if old.ids == new.ids:
        return packed & new.spread(new.moments)
    moved = 0
    for number, one in enumerate(new.ids):
        if one in old.number:
            moved |= old.lane(packed, old.number[one]) << number * new.stride
    return moved
