"""Two jobs in a tiny shop, one of them booked; and every place that the booked one could have."""

import random
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations

from scheduling.core.earliest import earliest_fit
from scheduling.core.earliest_moved import Movable
from scheduling.core.fit import Chain
from scheduling.core.freeindex import FreeIndex
from scheduling.core.problem import Operation
from scheduling.core.values import Window
from tests.scheduling.core.cases import GRID, Case, SlowSearch, small_case

Taken = tuple[str, int, int]
"""A resource and slots ``[start, end)``."""


@dataclass(frozen=True)
class Two:
    """``asked`` has in ``busy`` what else is booked, without the movable job."""

    asked: Case
    movable: Movable
    not_before: int
    by: int

    def index(self) -> FreeIndex:
        """What is free with the booking in its place."""
        index = FreeIndex(self.asked.resources, self.asked.busy)
        for hold in self.movable.holds:
            index.add(*hold)
        return index


def two_jobs(seed: int, slots: int) -> Two | None:
    """Return the case of a seed; None where there is nothing to book, or no reason to move it."""
    rng = random.Random(seed)  # noqa: S311 -- test cases, not secrets
    asked = small_case(seed, slots)
    asked = replace(asked, busy={one: h[:1] for one, h in asked.busy.items() if rng.random() < 0.3})
    ops = small_case(seed + 1, slots).chain.ops[:2]
    chain = Chain(tuple(replace(op, modes=op.modes[:1]) for op in ops), asked.chain.by_customer)
    release = GRID * rng.randint(0, 2)
    index = FreeIndex(asked.resources, asked.busy)
    booked = earliest_fit(chain, index, not_before=release)
    if not booked.found:
        return None
    movable = Movable(
        id="booked",
        chain=chain,
        holds=tuple((hold.resource, hold.start, hold.end) for hold in booked.holds),
        start=booked.start,
        told=booked.end + GRID * rng.choice([0, 0, 2]),
        release=release,
        most=GRID * rng.randint(1, 6),
    )
    two = Two(asked, movable, asked.not_before, asked.resources.horizon)
    plain = earliest_fit(asked.chain, two.index(), not_before=asked.not_before)
    by = plain.end - GRID if plain.found else asked.resources.horizon
    return replace(two, by=by) if by > asked.not_before else None


def slow_best(two: Two) -> int | None:
    """Return the earliest pick-up of the asked job over every place of the booked one."""
    best = None
    for held in _places(two):
        busy = {one: list(windows) for one, windows in two.asked.busy.items()}
        for unit, start, end in held:
            busy.setdefault(unit, []).append((start * GRID, end * GRID))
        found = SlowSearch(replace(two.asked, busy=busy)).earliest_pick_up()
        if found is not None and found <= two.by and (best is None or found < best):
            best = found
    return best


def _places(two: Two) -> set[frozenset[Taken]]:
    """Return what the movable job would hold in every place it may go to."""
    one = two.movable
    walk = _Walk(replace(two.asked, chain=one.chain, not_before=one.release))
    return {
        frozenset(hold for hold in held if hold[2] > hold[1])
        for start, end, held in walk.all()
        if start * GRID >= one.earliest and end * GRID <= one.latest
    }


class _Walk(SlowSearch):
    """Every placement, not only the earliest."""

    def all(self) -> Iterator[tuple[int, int, tuple[Taken, ...]]]:
        earliest = -(-self.case.not_before // GRID)
        for spot in self.res.spots:
            for came in range(earliest, self.slots + 1):
                if not self.case.chain.by_customer:
                    yield from self._op(0, spot.id, came, came, ())
                elif self.works(self.res.opening, came):
                    for start in range(came, self.slots + 1):
                        if not self.free(spot.id, came, start):
                            break
                        for there, _ in self._entries(spot.id, start) | {
                            (other.id, came) for other in self.res.spots if start == came
                        }:
                            yield from self._op(0, there, start, came, ((spot.id, came, start),))

    def _op(
        self, number: int, spot: str, start: int, came: int, held: tuple[Taken, ...]
    ) -> Iterator[tuple[int, int, tuple[Taken, ...]]]:
        op = self.case.chain.ops[number]
        if op.spot_cap not in next(s for s in self.res.spots if s.id == spot).caps:
            return
        for end, used in self._ways(op, start):
            if not self.free(spot, start, end):
                continue
            now = (*held, *used, (spot, start, end))
            if number + 1 == len(self.case.chain.ops):
                yield from self._fetched(spot, end, came, now)
                continue
            following = self.case.chain.ops[number + 1]
            for place, begin, there in self._gaps(following, spot, end):
                yield from self._op(number + 1, there, begin, came, (*now, (place, end, begin)))

    def _fetched(
        self, spot: str, end: int, came: int, held: tuple[Taken, ...]
    ) -> Iterator[tuple[int, int, tuple[Taken, ...]]]:
        if not self.case.chain.by_customer:
            yield came, end, held
            return
        for moment in range(end, self.slots + 1):
            if not self.free(spot, end, moment):
                return
            if self.is_open(moment):
                yield came, moment, (*held, (spot, end, moment))
                return  # a later one only holds more

    def _gaps(self, op: Operation, left: str, end: int) -> Iterator[tuple[str, int, str]]:
        low = op.lag_min // GRID
        high = self.slots if op.lag_max is None else op.lag_max // GRID
        places = {left}
        if not op.same_spot and self.is_open(end):
            places |= {spot.id for spot in self.res.spots if spot.park}
        for place in places:
            for start in range(end + low, min(end + high, self.slots) + 1):
                if self.free(place, end, start):
                    for there, _ in self._entries(place, start, same=op.same_spot):
                        yield place, start, there

    def _ways(self, op: Operation, start: int) -> Iterator[tuple[int, tuple[Taken, ...]]]:
        mode = op.modes[0]
        able = [one for one in self.res.crew if op.skill in one.skills]
        for team in combinations(able, op.crew) if op.crew else [()]:
            end = self._end(op, team, start, mode.dur // GRID)
            if end is None or end > self.slots:
                continue
            if op.open_hours and not any(
                a <= start * GRID and end * GRID <= b for a, b in self.res.opening
            ):
                continue
            for lit in combinations([lamp.id for lamp in self.res.lamps], mode.lamps):
                units = (*(one.id for one in team), *lit)
                if all(self.free(unit, start, end) for unit in units):
                    people = {one.id: one.windows for one in team}
                    yield end, tuple(_stretches(people, units, start, end))


def _stretches(
    people: dict[str, tuple[Window, ...]], units: tuple[str, ...], start: int, end: int
) -> Iterator[Taken]:
    """Return the holds: people only for their own working time."""
    for unit in units:
        windows = people.get(unit, ((0, end * GRID),))
        for a, b in windows:
            if max(a // GRID, start) < min(b // GRID, end):
                yield unit, max(a // GRID, start), min(b // GRID, end)
