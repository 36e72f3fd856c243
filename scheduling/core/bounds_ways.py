"""The ways of one job's operations as arrays of starts and ends, for pricing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations_with_replacement

import numpy as np

from scheduling.core.bounds_rows import Floats, Rows, Whole, bits_of
from scheduling.core.forward import Forward, Step, Team, Way
from scheduling.core.freeindex import FreeIndex
from scheduling.core.insertion import job_chain
from scheduling.core.problem import Job, Operation, Week


@dataclass(frozen=True, slots=True)
class Ways:
    """All starts of an operation in one mode by people of certain calendars.

    Attributes
    ----------
    starts, ends : ndarray of int
        Slots from the first that the job may use, both rising: no two starts have the same end.
    crew : tuple of (ndarray of int, int)
        Rows of people of one calendar who can do it, and how many of them are needed.
    lamps : int
        Lamps used throughout.
    """

    starts: Whole
    ends: Whole
    crew: tuple[tuple[Whole, int], ...]
    lamps: int

    def until(self, last: int) -> Ways:
        """Return those that end at a slot at the latest."""
        keep = int(np.searchsorted(self.ends, last, side="right"))
        return Ways(self.starts[:keep], self.ends[:keep], self.crew, self.lamps)

    def price(self, paid: Floats, lamps: int) -> Floats:
        """Return what the cheapest crew and the lamps cost for each start.

        Parameters
        ----------
        paid : ndarray of float, shape (rows, moments)
            Sum of the prices before each moment.
        lamps : int
            Row of the lamps.
        """
        total = np.zeros(len(self.starts))
        for people, count in self.crew:
            each = [paid[row].take(self.ends) - paid[row].take(self.starts) for row in people]
            if count == 1:
                total += each[0] if len(each) == 1 else np.minimum.reduce(each)
            else:
                total += np.sort(np.array(each), axis=0)[:count].sum(axis=0)
        if self.lamps:
            row = paid[lamps]
            total += self.lamps * (row.take(self.ends) - row.take(self.starts))
        return total


@dataclass(frozen=True, slots=True)
class Stage:
    """One operation: rows of the spots it can be in, its ways, and the lag before it in slots."""

    spots: Whole
    ways: tuple[Ways, ...]
    least: int
    most: int | None
    same_spot: bool


def stages_of(
    week: Week, job: Job, rows: Rows, empty: FreeIndex
) -> tuple[int, Forward, list[Stage]]:
    """Return the first slot a job may use, its look at an empty shop, and its stages.

    Raises
    ------
    ValueError
        If it cannot be done even there.
    """
    forward = Forward(job_chain(job, week.frozen), empty, 0, empty.blocks, job.release)
    if forward.run() is not None:
        raise ValueError(f"{job.id} cannot be done in an empty shop")
    first = -(-job.release // week.grid)
    stages = []
    for op, step in zip(job.ops, forward.steps, strict=True):
        spots = sorted({rows.spot_row[spot_id] for spot_id, _, _ in step.choices})
        stages.append(
            Stage(
                np.array(spots),
                tuple(_ways(op, step, forward, rows, first)),
                -(-op.lag_min // week.grid),
                None if op.lag_max is None else op.lag_max // week.grid,
                op.same_spot,
            )
        )
    return first, forward, stages


def _ways(op: Operation, step: Step, forward: Forward, rows: Rows, first: int) -> Iterator[Ways]:
    by_calendar: dict[int, list[int]] = {}
    for one in forward.skilled(op) if op.attended else ():
        calendar = forward.index.calendar_of[one.id]
        by_calendar.setdefault(calendar, []).append(rows.person_row[one.id])
    found: dict[tuple[int, Team], list[tuple[int, int]]] = {}
    ways: dict[int, tuple[Way, int]] = {}
    for _, way, starts in step.choices:
        ways[id(way)] = (way, ways.get(id(way), (way, 0))[1] | starts)
    for way, starts in ways.values():
        for team, at_work in _teams(op, way, forward):
            if starts & at_work:
                found.setdefault((way.mode, team), []).append((way.slots, starts & at_work))
    for (mode, team), parts in found.items():
        moments = rows.slots + 1
        starting = [(np.flatnonzero(bits_of(mask, moments)), slots) for slots, mask in parts]
        begin = np.concatenate([starts for starts, _ in starting])
        end = np.concatenate([starts + slots for starts, slots in starting])
        order = np.argsort(begin)
        crew = tuple((np.array(by_calendar[one]), count) for one, count in Counter(team).items())
        yield Ways(begin[order] - first, end[order] - first, crew, op.modes[mode].lamps)


def _teams(op: Operation, way: Way, forward: Forward) -> Iterator[tuple[Team, int]]:
    """Yield the calendars that may do it together and when; the same for work that cannot pause."""
    if not op.attended:
        yield (), forward.moments
        return
    if way.teams[0][0]:
        yield from way.teams
        return
    calendars: dict[int, list[int]] = {}
    for one in forward.skilled(op):
        at_work = forward.at_work_for(one, way.slots)
        calendars.setdefault(forward.index.calendar_of[one.id], []).append(at_work)
    for team in combinations_with_replacement(sorted(calendars), op.crew):
        needed = Counter(team)
        if all(count <= len(calendars[one]) for one, count in needed.items()):
            together = forward.moments
            for calendar in needed:
                together &= calendars[calendar][0]
            yield team, together
