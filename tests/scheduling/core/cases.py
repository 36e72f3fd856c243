"""Small random shops and chains, and a slow search that tries them slot by slot."""

import random
from dataclasses import dataclass
from itertools import combinations

from scheduling.core.fit import Chain
from scheduling.core.freeindex import Lamp, Resources, Technician
from scheduling.core.problem import Mode, Operation, Spot
from scheduling.core.values import Window

GRID = 5


@dataclass(frozen=True)
class Case:
    """A chain, a shop, what is booked and the earliest drop-off."""

    chain: Chain
    resources: Resources
    busy: dict[str, list[Window]]
    not_before: int


def some_windows(rng: random.Random, slots: int, count: int) -> tuple[Window, ...]:
    """Return up to ``count`` windows; most sets reach from the start to the end."""
    cuts = sorted(rng.sample(range(slots + 1), 2 * count))
    if rng.random() < 0.7:
        cuts[0], cuts[-1] = 0, slots
    pairs = zip(cuts[::2], cuts[1::2], strict=True)
    return tuple((a * GRID, b * GRID) for a, b in pairs)


def _operation(rng: random.Random, number: int) -> Operation:
    attended = rng.random() < 0.7
    lag = GRID * rng.choice([0, 0, 1, 3])
    shortest = 0 if rng.random() < 0.1 else 1
    return Operation(
        id=f"op{number}",
        spot_cap=rng.choice(["wash", "coat"]),
        modes=tuple(
            Mode(GRID * rng.randint(shortest, 5), rng.choice([0, 0, 1]))
            for _ in range(rng.randint(1, 2))
        ),
        crew=rng.choice([1, 1, 2]) if attended else 0,
        skill=rng.choice("ab") if attended else None,
        pausable=rng.random() < 0.5,
        same_spot=number > 0 and rng.random() < 0.3,
        lag_min=lag,
        lag_max=lag + GRID * rng.choice([0, 1, 3]) if rng.random() < 0.5 else None,
        open_hours=rng.random() < 0.2,
    )


def small_case(seed: int, slots: int = 40) -> Case:
    """Return the random case of a seed."""
    rng = random.Random(seed)  # noqa: S311 -- test cases, not secrets
    closures = some_windows(rng, slots // 2, 1) if rng.random() < 0.2 else ()
    spots = (
        Spot("W", frozenset({"wash"}), closures=closures),
        Spot("C", frozenset(rng.choice([["coat"], ["coat", "wash"]]))),
        Spot(
            "lot",
            frozenset({"coat"} if rng.random() < 0.3 else ()),
            capacity=rng.choice([1, 2]),
            park=True,
        ),
    )
    crew = tuple(
        Technician(
            f"T{k}",
            some_windows(rng, slots, rng.randint(1, 3)),
            frozenset(rng.sample("ab", rng.randint(1, 2))),
        )
        for k in range(rng.randint(2, 3))
    )
    lamps = (Lamp("L1"),) if rng.random() < 0.6 else (Lamp("L1"), Lamp("L2"))
    opening = some_windows(rng, slots, rng.randint(1, 3))
    resources = Resources(GRID, slots * GRID, spots, crew, lamps, opening)
    busy = {
        unit: [(a, min(a + 50, b)) for a, b in some_windows(rng, slots, rng.randint(1, 3))]
        for unit in resources.by_id
        if rng.random() < 0.5
    }
    ops = tuple(_operation(rng, number) for number in range(rng.randint(1, 3)))
    chain = Chain(ops, by_customer=rng.random() < 0.6)
    return Case(chain, resources, busy, rng.choice([0, 0, 20]))


class SlowSearch:
    """Earliest pick-up by walking from slot to slot; for tiny cases."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.res = case.resources
        self.slots = self.res.horizon // GRID
        self.use = {unit: [0] * self.slots for unit in self.res.by_id}
        for unit, holds in case.busy.items():
            for start, end in holds:
                for slot in range(start // GRID, min(end // GRID, self.slots)):
                    self.use[unit][slot] += 1
        for spot in self.res.spots:
            for start, end in spot.closures:
                for slot in range(start // GRID, end // GRID):
                    self.use[spot.id][slot] = 99

    def free(self, unit: str, start: int, end: int) -> bool:
        capacity = getattr(self.res.by_id[unit], "capacity", 1)
        return end <= self.slots and all(n < capacity for n in self.use[unit][start:end])

    def works(self, windows: tuple[Window, ...], slot: int) -> bool:
        return any(a <= slot * GRID < b for a, b in windows)

    def is_open(self, moment: int) -> bool:
        return any(a <= moment * GRID <= b for a, b in self.res.opening)

    def ends_of(self, op: Operation, start: int) -> set[int]:
        """Return the ends of an operation that starts at a slot, its spot aside."""
        found = set()
        for mode in op.modes:
            work = mode.dur // GRID
            teams = combinations([t for t in self.res.crew if op.skill in t.skills], op.crew)
            for team in teams if op.crew else [()]:
                end = self._end(op, team, start, work)
                if end is None or end > self.slots:
                    continue
                lit = sum(self.free(lamp.id, start, end) for lamp in self.res.lamps)
                if lit < mode.lamps or not all(self.free(t.id, start, end) for t in team):
                    continue
                if op.open_hours and not any(
                    a <= start * GRID and end * GRID <= b for a, b in self.res.opening
                ):
                    continue
                found.add(end)
        return found

    def _end(
        self, op: Operation, team: tuple[Technician, ...], start: int, work: int
    ) -> int | None:
        if not team:
            return start + work
        at_work = [all(self.works(t.windows, k) for t in team) for k in range(self.slots)]
        if start >= self.slots or not at_work[start]:
            return None
        end = start
        while work and end < self.slots:
            work -= at_work[end]
            if not at_work[end] and not op.pausable:
                return None
            end += 1
        return None if work else end

    def starts_after(self, op: Operation, left: str, end: int) -> set[tuple[str, int]]:
        """Return every spot and moment at which the next operation may start."""
        low = op.lag_min // GRID
        high = self.slots if op.lag_max is None else op.lag_max // GRID
        found = set()
        places = {left}
        if not op.same_spot and self.is_open(end):
            places |= {spot.id for spot in self.res.spots if spot.park}
        for place in places:
            for start in range(end + low, min(end + high, self.slots) + 1):
                if self.free(place, end, start):
                    found |= self._entries(place, start, same=op.same_spot)
        return found

    def _entries(self, place: str, start: int, *, same: bool = False) -> set[tuple[str, int]]:
        return {
            (spot.id, start)
            for spot in self.res.spots
            if spot.id == place or (not same and (not spot.park or self.is_open(start)))
        }

    def first_starts(self) -> set[tuple[str, int]]:
        earliest = -(-self.case.not_before // GRID)
        if not self.case.chain.by_customer:
            return {(s.id, t) for s in self.res.spots for t in range(earliest, self.slots + 1)}
        found = set()
        for drop_off in range(earliest, self.slots):
            if not self.works(self.res.opening, drop_off):
                continue
            for spot in self.res.spots:
                for start in range(drop_off, self.slots + 1):
                    if self.free(spot.id, drop_off, start):
                        found |= self._entries(spot.id, start)
            found |= {(s.id, drop_off) for s in self.res.spots}
        return found

    def earliest_pick_up(self) -> int | None:
        """Return the earliest pick-up in minutes, or None if there is none."""
        starts = self.first_starts()
        ends: set[tuple[str, int]] = set()
        caps = {spot.id: spot.caps for spot in self.res.spots}
        for number, op in enumerate(self.case.chain.ops):
            if number:
                starts = {nxt for left, end in ends for nxt in self.starts_after(op, left, end)}
            ends = {
                (spot, end)
                for spot, start in starts
                if op.spot_cap in caps[spot]
                for end in self.ends_of(op, start)
                if self.free(spot, start, end)
            }
        if self.case.chain.by_customer:
            ends = {
                (spot, moment)
                for spot, end in ends
                for moment in range(end, self.slots + 1)
                if self.is_open(moment) and self.free(spot, end, moment)
            }
        return min((moment for _, moment in ends), default=-1) * GRID if ends else None
