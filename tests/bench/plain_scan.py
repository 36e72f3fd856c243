"""The earliest pick-up as one would write it first: read every booking, walk every slot.

The reference against which the index is timed, and which must give the same pick-up
(``tests/scheduling/core/test_plain_scan.py``). Crews of one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from scheduling.core.fit import Chain
from scheduling.core.freeindex import Resources, Technician
from scheduling.core.problem import Operation
from scheduling.core.values import Window

FIRST_DAYS = 5
DAY_MINUTES = 24 * 60
State = set[tuple[str, int]]


def plain_scan(
    chain: Chain, resources: Resources, busy: Mapping[str, Sequence[Window]], not_before: int
) -> int | None:
    """Return the earliest pick-up in minutes; None where there is none."""
    days = FIRST_DAYS
    begin = -(-not_before // resources.grid) * resources.grid
    while True:
        end = min(begin + days * DAY_MINUTES, resources.horizon)
        found = _Scan(chain, resources, busy, begin, end).pick_up()
        if found is not None or end == resources.horizon:
            return found
        days *= 2


class _Scan:
    def __init__(
        self,
        chain: Chain,
        resources: Resources,
        busy: Mapping[str, Sequence[Window]],
        begin: int,
        end: int,
    ) -> None:
        if any(op.crew > 1 for op in chain.ops):
            raise ValueError("crews of one only")
        self.chain, self.resources, self.begin = chain, resources, begin
        self.grid = resources.grid
        self.slots = max(0, (end - begin) // self.grid)
        self.caps = {spot.id: spot.caps for spot in resources.spots}
        self.room = {}
        for unit in resources.by_id.values():
            room = 1 if isinstance(unit, Technician) else unit.capacity
            self.room[unit.id] = [room] * self.slots
        for unit_id, holds in busy.items():
            for start, stop in holds:
                for slot in self._slots(start, stop):
                    self.room[unit_id][slot] -= 1
        for spot in resources.spots:
            for start, stop in spot.closures:
                for slot in self._slots(start, stop):
                    self.room[spot.id][slot] = 0
        self.works = {one.id: self._inside(one.windows) for one in resources.crew}
        self.open = self._inside(resources.opening)
        self.may_pass = [
            any(self.open[max(0, k - 1) : k + 1]) if k else bool(self.open[:1] and self.open[0])
            for k in range(self.slots + 1)
        ]

    def _slots(self, start: int, stop: int) -> range:
        first = max(0, (start - self.begin) // self.grid)
        return range(first, min(self.slots, -((self.begin - stop) // self.grid)))

    def _inside(self, windows: Sequence[Window]) -> list[bool]:
        inside = [False] * self.slots
        for start, stop in windows:
            for slot in range(
                max(0, -((self.begin - start) // self.grid)),
                min(self.slots, (stop - self.begin) // self.grid),
            ):
                inside[slot] = True
        return inside

    def pick_up(self) -> int | None:
        state: State = set()
        for number, op in enumerate(self.chain.ops):
            starts = self._next_starts(op, state) if number else self._first_starts()
            state = set()
            ends: dict[int, set[int]] = {}
            for spot_id, start in starts:
                if op.spot_cap not in self.caps[spot_id]:
                    continue
                if start not in ends:
                    ends[start] = set(self._ends(op, start))
                for end in ends[start]:
                    if self._free(spot_id, start, end):
                        state.add((spot_id, end))
        if self.chain.by_customer:
            state = {(s, t) for s, t in self._standing(state, 0, None) if self.may_pass[t]}
        found = min((moment for _, moment in state), default=None)
        return None if found is None else self.begin + found * self.grid

    def _free(self, unit: str, start: int, end: int, units: int = 1) -> bool:
        room = self.room[unit]
        return end <= self.slots and all(room[k] >= units for k in range(start, end))

    def _ends(self, op: Operation, start: int) -> Iterator[int]:
        for mode in op.modes:
            work = -(-mode.dur // self.grid)
            for end in self._worked(op, start, work):
                lit = sum(
                    self._free(lamp.id, start, end, unit)
                    for lamp in self.resources.lamps
                    for unit in range(1, lamp.capacity + 1)
                )
                inside = all(self.open[start:end]) and (end > start or self.may_pass[start])
                if lit >= mode.lamps and (inside or not op.open_hours):
                    yield end

    def _worked(self, op: Operation, start: int, work: int) -> Iterator[int]:
        if not op.attended:
            if start + work <= self.slots:
                yield start + work
            return
        for one in self.resources.crew:
            works = self.works[one.id]
            if op.skill not in one.skills or start >= self.slots or not works[start]:
                continue
            left, at = work, start
            while left and at < self.slots and self.room[one.id][at] > 0:
                if not works[at] and not op.pausable:
                    break
                left -= works[at]
                at += 1
            if not left:
                yield at

    def _standing(self, state: State, least: int, most: int | None) -> State:
        stood: State = set()
        for spot_id, since in state:
            room = self.room[spot_id]
            last = self.slots if most is None else min(self.slots, since + most)
            at = since
            while at <= last:
                if at - since >= least:
                    if most is None and (spot_id, at) in stood:
                        break
                    stood.add((spot_id, at))
                if at == self.slots or room[at] < 1:
                    break
                at += 1
        return stood

    def _entered(self, standing: State) -> State:
        entered = set(standing)
        for moment in {moment for _, moment in standing}:
            for spot in self.resources.spots:
                if not spot.park or self.may_pass[moment]:
                    entered.add((spot.id, moment))
        return entered

    def _next_starts(self, op: Operation, ends: State) -> State:
        least = -(-op.lag_min // self.grid)
        most = None if op.lag_max is None else op.lag_max // self.grid
        standing = self._standing(ends, least, most)
        if op.same_spot:
            return standing
        movable = {moment for _, moment in ends if self.may_pass[moment]}
        parks = [spot.id for spot in self.resources.spots if spot.park]
        parked = {(park, moment) for park in parks for moment in movable}
        return self._entered(standing | self._standing(parked, least, most))

    def _first_starts(self) -> State:
        if not self.chain.by_customer:
            every = range(self.slots + 1)
            return {(spot.id, t) for spot in self.resources.spots for t in every}
        brought = {
            (spot.id, t) for spot in self.resources.spots for t in range(self.slots) if self.open[t]
        }
        return self._entered(self._standing(brought, 0, None))
