"""A week's jobs prepared for quick placing: when each step could start, whoever does it.

Everything that no booking changes is worked out once: for each way to do an operation a table
gives, for every moment, the next start that calendars and opening hours allow and its end.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations, islice

from scheduling.core.forward import FREE
from scheduling.core.freeindex import OPENING, FreeIndex, Technician
from scheduling.core.insertion import LAMPS, job_chain
from scheduling.core.masks import runs, span
from scheduling.core.problem import Frozen, Job, Operation, Week

MOST_TEAMS = 60
"""Teams tried for one operation; those of people with the fewest skills come first."""
Calendars = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Next start from a moment on, and its end, in slots; ``Timetable.never`` if there is none."""

    start: array[int]
    end: array[int]


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """One way to do an operation: a mode, a team, and its table.

    ``cells`` are the cells of the board that must be free while it is done, the spot aside;
    ``takes`` names the first cell of each unit that it takes.
    """

    mode: int
    lamps: int
    team: tuple[int, ...]
    cells: tuple[int, ...]
    takes: tuple[int, ...]
    start: array[int]
    end: array[int]


@dataclass(frozen=True, slots=True, eq=False)
class Task:
    """An operation with its ways, lags in slots (``lag_most`` may be endless)."""

    op: Operation
    steps: tuple[Step, ...]
    lag_least: int
    lag_most: int


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """Operations that share a spot, and the spots that may be it."""

    tasks: tuple[Task, ...]
    spots: tuple[int, ...]
    shortest: int


@dataclass(frozen=True, slots=True, eq=False)
class Route:
    """A job as groups in order; ``rest[g]`` is the least time of group g and those after it."""

    job: Job
    groups: tuple[Group, ...]
    rest: tuple[int, ...]
    release: int


class Timetable:
    """What of a week does not change while its plan is made.

    Parameters
    ----------
    week : Week
        The problem.

    Attributes
    ----------
    never : int
        A moment after everything.
    cell_of : dict of str to int
        First cell of each resource on a board; a resource with room for several has one cell
        for each, the last of which tells when it is full.
    routes, preferred : dict of str to Route
        By job; the second for jobs with a preferred placement, which it keeps. A job that lacks
        a spot or people has a group without spots or ways.
    """

    def __init__(self, week: Week, empty: FreeIndex) -> None:
        self.week, self.empty = week, empty
        self.grid, self.slots = empty.grid, empty.slots
        self.never = 4 * self.slots + 4
        self.spots = empty.resources.spots
        self.people = empty.resources.crew
        self.room: list[int] = []
        self.cell_of: dict[str, int] = {}
        self.cells = 0
        for unit_id, unit in empty.resources.by_id.items():
            room = 1 if isinstance(unit, Technician) else unit.capacity
            self.cell_of[unit_id] = self.cells
            self.cells += room
            self.room += [room] * room
        self.full_cell = [self.cell_of[one.id] + one.capacity - 1 for one in self.spots]
        self.parks = [number for number, one in enumerate(self.spots) if one.park]
        self._open = empty.worked(empty.calendar_of[OPENING], 0, empty.blocks)
        self.open_moments = (self._open | self._open << 1) & (empty.whole(0, empty.blocks) << 1 | 1)
        self.next_open = self._table([(self.open_moments, 0)]).start
        self._working: dict[Calendars, tuple[list[int], list[int], array[int]]] = {}
        self._tables: dict[tuple[Calendars, int, bool, bool], Table] = {}
        self.routes = {job.id: self._route(job, week.frozen) for job in week.jobs}
        both = {**week.preferred, **week.frozen}
        self.preferred = {
            job.id: self._route(job, both)
            for job in week.jobs
            if any(op.id in week.preferred for op in job.ops)
        }

    def _route(self, job: Job, frozen: Mapping[str, Frozen]) -> Route:
        kept = job_chain(job, frozen).kept
        parts: list[list[Operation]] = []
        for op in job.ops:
            if op.same_spot and parts:
                parts[-1].append(op)
            else:
                parts.append([op])
        groups = tuple(self._group(part, [kept.get(op.id, FREE) for op in part]) for part in parts)
        rest = [0]
        for group in reversed(groups):
            rest.append(rest[-1] + group.shortest + group.tasks[0].lag_least)
        return Route(job, groups, tuple(rest[::-1]), -(-job.release // self.grid))

    def _group(self, ops: list[Operation], kept: list[Frozen]) -> Group:
        spots = tuple(
            number
            for number, spot in enumerate(self.spots)
            if all(op.spot_cap in spot.caps for op in ops)
            and all(one.spot in (None, spot.id) for one in kept)
        )
        tasks = tuple(self._task(op, one) for op, one in zip(ops, kept, strict=True))
        shortest = sum(min(mode.dur for mode in op.modes) // self.grid for op in ops)
        return Group(tasks, spots, shortest + sum(task.lag_least for task in tasks[1:]))

    def _task(self, op: Operation, kept: Frozen) -> Task:
        most = self.never if op.lag_max is None else op.lag_max // self.grid
        return Task(op, tuple(self._steps(op, kept)), -(-op.lag_min // self.grid), most)

    def _steps(self, op: Operation, kept: Frozen) -> Iterator[Step]:
        able = [
            number
            for number, one in enumerate(self.people)
            if op.skill in one.skills and (kept.crew is None or one.id in kept.crew)
        ]
        able.sort(key=lambda number: (len(self.people[number].skills), number))
        first = self.cell_of[self.people[0].id] if self.people else 0
        lamps = self.cell_of.get(LAMPS)
        for number, mode in enumerate(op.modes):
            cells: tuple[int, ...] = ()
            pool: tuple[int, ...] = ()
            if mode.lamps:
                if lamps is None or mode.lamps > self.room[lamps]:
                    continue
                cells = (lamps + self.room[lamps] - mode.lamps,)
                pool = (lamps,) * mode.lamps
            for team in islice(combinations(able, op.crew), MOST_TEAMS):
                calendars = {self.empty.calendar_of[self.people[one].id] for one in team}
                table = self.table(op, tuple(sorted(calendars)), mode.dur, kept)
                people = tuple(first + one for one in team)
                yield Step(
                    mode=number,
                    lamps=mode.lamps,
                    team=team,
                    cells=cells + people,
                    takes=pool + people,
                    start=table.start,
                    end=table.end,
                )

    def points(self, job: Job, end: int, moves: int) -> float:
        """Return what a job costs that ends at a slot, changes and makespan aside."""
        goal = self.week.objective
        minute = end * self.grid
        late = job.weight * max(0, minute - job.due)
        minutes = goal.tardiness * late + goal.flow * (minute - job.release)
        return minutes / goal.per + goal.move * moves

    def table(self, op: Operation, calendars: Calendars, minutes: int, kept: Frozen) -> Table:
        """Return the table of an operation done by people of such calendars."""
        work = -(-minutes // self.grid)
        if kept.start is not None or kept.end is not None:
            return self._table(self._kept(self._starts(op, calendars, work), kept))
        key = (calendars, work, op.pausable, op.open_hours)
        if key not in self._tables:
            if calendars and op.pausable and work and not op.open_hours:
                self._tables[key] = self._pausing(calendars, work)
            else:
                self._tables[key] = self._table(self._starts(op, calendars, work))
        return self._tables[key]

    def _pausing(self, calendars: Calendars, work: int) -> Table:
        """Return the table of work that pauses: it ends so many working slots further on."""
        if calendars not in self._working:
            slots = [t for a, b in stretches_of(self._at_work(calendars)) for t in range(a, b)]
            number: list[int] = []  # of the next working slot, by moment
            start = array("i")
            for k, (before, slot) in enumerate(zip([-1, *slots], slots, strict=False)):
                number.extend([k] * (slot - before))
                start.extend([slot] * (slot - before))
            self._working[calendars] = (slots, number, start)
        slots, number, start = self._working[calendars]
        last = len(slots) - work
        known = slots[last] + 1 if last >= 0 else 0
        none = array("i", [self.never]) * (self.slots + 1 - known)
        ends = [slot + 1 for slot in slots[work - 1 :]]
        end = array("i", map(ends.__getitem__, number[:known]))
        return Table(start[:known] + none, end + none)

    def _at_work(self, calendars: Calendars) -> int:
        blocks = self.empty.blocks
        at_work = self.empty.worked(calendars[0], 0, blocks)
        for other in calendars[1:]:
            at_work &= self.empty.worked(other, 0, blocks)
        return at_work

    def _starts(self, op: Operation, calendars: Calendars, work: int) -> list[tuple[int, int]]:
        """Return ``(starts, elapsed)`` of work that nothing hinders but calendars."""
        blocks = self.empty.blocks
        found: list[tuple[int, int]]
        if not calendars:
            found = [(span(0, self.slots - work + 1), work)]
        elif op.pausable and work:
            spans = self.empty.work_spans(calendars, work, 0, blocks)
            found = [(starts, elapsed) for elapsed, starts in spans]
        else:
            found = [(runs(self._at_work(calendars), work), work)]
        if not op.open_hours:
            return found
        return [
            (starts & (runs(self._open, elapsed) if elapsed else self.open_moments), elapsed)
            for starts, elapsed in found
        ]

    def _kept(self, found: list[tuple[int, int]], kept: Frozen) -> list[tuple[int, int]]:
        left = []
        for starts, elapsed in found:
            for minute, before in ((kept.start, 0), (kept.end, elapsed)):
                if minute is not None:
                    slot, off_grid = divmod(minute, self.grid)
                    slot -= before
                    starts &= span(slot, slot + 1) if slot >= 0 and not off_grid else 0
            left.append((starts, elapsed))
        return left

    def _table(self, found: list[tuple[int, int]]) -> Table:
        """Write the starts as tables over every moment up to the horizon."""
        start, end = array("i"), array("i")
        stretches = sorted(
            (a, min(b, self.slots - elapsed + 1), elapsed)
            for starts, elapsed in found
            for a, b in stretches_of(starts)
        )
        for a, b, elapsed in stretches:
            if b > a:
                before = a - len(start)
                start.extend([a] * before)
                end.extend([a + elapsed] * before)
                start.extend(range(a, b))
                end.extend(range(a + elapsed, b + elapsed))
        none = [self.never] * (self.slots + 1 - len(start))
        start.extend(none)
        end.extend(none)
        return Table(start, end)


def stretches_of(mask: int) -> Iterator[tuple[int, int]]:
    """Yield the stretches ``[start, end)`` of set bits of a mask."""
    at = 0
    while mask:
        skip = (mask & -mask).bit_length() - 1
        mask >>= skip
        length = (~mask & (mask + 1)).bit_length() - 1
        yield at + skip, at + skip + length
        mask >>= length
        at += skip + length
