"""How likely a promised time holds: operation ranges drawn many times through a fixed plan.

Nothing starts before its planned start, and everything keeps its order: the step before of the
same vehicle, the work before of the same person, the vehicle before in the same bay. An overrun
therefore delays what stands behind it and nothing else. Parking is taken as roomy.

People work on for up to ``OVERTIME_MINUTES`` to finish something: without that, a minute lost
in the morning would cost a night. Work that may not pause is begun if it is planned to end by
then, and finished once begun; polishing goes on in the next window; a cure runs on.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from heapq import heapify, heappop, heappush
from itertools import pairwise
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

from scheduling.core.problem import STAY, Operation, Plan, Week, Window
from scheduling.core.worktime import common, join

Minutes = npt.NDArray[np.int64]
NEVER = 2**40
"""A minute after every calendar: the draw in which work is not done within the horizon."""
Z90 = NormalDist().inv_cdf(0.9)
OVERTIME_MINUTES = 30
"""How long people stay to finish something (common practice, no source)."""
SHARED = 0.5
"""Correlation of durations within one vehicle (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Range:
    """Minutes that a duration stays under with 10, 50 and 90 % probability."""

    p10: float
    p50: float
    p90: float

    def __post_init__(self) -> None:
        if not 0 < self.p10 <= self.p50 <= self.p90 < math.inf:
            raise ValueError(f"a range has 0 < p10 <= p50 <= p90, not {self}")

    def at(self, z: npt.NDArray[np.float64]) -> Minutes:
        """Return durations in whole minutes for standard normal draws.

        A log-normal on either side of the median, so that all three quantiles are met.
        """
        low, high = math.log(self.p50 / self.p10) / Z90, math.log(self.p90 / self.p50) / Z90
        spread = np.where(z < 0, low, high)
        return np.maximum(1, np.rint(self.p50 * np.exp(spread * z))).astype(np.int64)


class Pace(StrEnum):
    """How the work of a step meets the end of a working window."""

    PAUSABLE = "pausable"
    WHOLE = "whole"
    UNATTENDED = "unattended"


@dataclass(frozen=True, slots=True)
class Before:
    """Something that must have happened: a step's end or its start, and minutes after it."""

    step: str
    lag: int = 0
    its_start: bool = False


@dataclass(frozen=True, slots=True)
class Step:
    """One operation in its fixed place.

    Parameters
    ----------
    id, job : str
        Of the operation and of its vehicle, whose durations are correlated.
    start : int
        Planned start; it never starts earlier.
    minutes : Range
        Duration.
    planned : int
        Planned duration, which has to fit into one window where it may not pause.
    pace : Pace
        Pausable, not pausable or unattended.
    windows : tuple of (int, int)
        Common working windows of its crew.
    before : tuple of Before
        What it waits for.
    """

    id: str
    job: str
    start: int
    minutes: Range
    planned: int
    pace: Pace
    windows: tuple[Window, ...] = ()
    before: tuple[Before, ...] = ()


class _Clock:
    """Tables over the minutes of one set of windows: look-ups instead of searches."""

    def __init__(self, windows: tuple[Window, ...]) -> None:
        self.windows = windows
        size = windows[-1][1] + 1 if windows else 1
        work = np.zeros(size, dtype=np.int64)
        for start, end in windows:
            work[start:end] = 1
        self.size = size
        self.worked = np.concatenate([[0], np.cumsum(work)])
        self.end_of = np.append(np.flatnonzero(work) + 1, NEVER)
        into = [np.arange(1, end - start + 1) for start, end in windows]
        ends = [0, *(end for _, end in windows)]
        lengths = [end - start for start, end in windows]
        self.into_window = np.concatenate([*into, [NEVER]]).astype(np.int64)
        self.end_before = np.append(np.repeat(ends[:-1], lengths), 0).astype(np.int64)
        self._begins: dict[int, Minutes] = {}

    def pausable(self, start: Minutes, minutes: Minutes) -> Minutes:
        """Return when so many minutes of work are done."""
        last = self.worked[np.minimum(start, self.size)] + minutes - 1
        np.minimum(last, len(self.end_of) - 1, out=last)
        left_over, closed = self.into_window[last], self.end_before[last]
        stayed = (left_over <= OVERTIME_MINUTES) & (closed > start)
        return np.where(stayed, closed + left_over, self.end_of[last])

    def begin(self, start: Minutes, planned: int) -> Minutes:
        """Return the first minute at which to begin what is planned to take one window."""
        table = self._begins.get(planned)
        if table is None:
            table = np.full(self.size + 1, NEVER, dtype=np.int64)
            until = 0
            for a, b in self.windows:
                if b - a >= planned:
                    latest = min(b - planned + OVERTIME_MINUTES, b - 1)
                    table[until:a] = a
                    table[a : latest + 1] = np.arange(a, latest + 1)
                    until = latest + 1
            self._begins[planned] = table
        return table[np.minimum(start, self.size)]


@dataclass(frozen=True)
class Outcome:
    """Drawn ends of every job, minutes from the origin."""

    ends: Mapping[str, Minutes] = field(repr=False)

    def probability(self, job: str, minute: int) -> float:
        """Return the share of draws in which the job is done by this minute."""
        return float(np.mean(self.ends[job] <= minute))

    def minute_for(self, job: str, probability: float) -> int | None:
        """Return the earliest minute by which the job is done with this probability.

        None if it is not reached within the calendars.
        """
        if not 0 < probability <= 1:
            raise ValueError(f"a probability is above 0 and up to 1, not {probability}")
        ends = np.sort(self.ends[job])
        minute = int(ends[math.ceil(probability * len(ends)) - 1])
        return None if minute >= NEVER else minute


def simulate(
    steps: Sequence[Step], *, samples: int = 2000, seed: int = 1, shared: float = SHARED
) -> Outcome:
    """Return the ends of all jobs when durations are drawn at random.

    Parameters
    ----------
    steps : sequence of Step
        In any order; what they wait for is looked up among them.
    samples : int
        Number of draws.
    seed : int
        The same seed draws the same numbers for the same identifiers, so that two plans can be
        compared draw by draw.
    shared : float
        Correlation of the durations within one job, 0 to 1.
    """
    if not 0 <= shared <= 1:
        raise ValueError(f"a correlation within a job is 0 to 1, not {shared}")
    rng = np.random.default_rng(seed)
    jobs = sorted({step.job for step in steps})
    by_job = dict(zip(jobs, rng.standard_normal((len(jobs), samples)), strict=True))
    ids = sorted(step.id for step in steps)
    own = dict(zip(ids, rng.standard_normal((len(ids), samples)), strict=True))
    clocks: dict[int, _Clock] = {}  # by identity: hashing a year of windows is slow
    started: dict[str, Minutes] = {}
    ended: dict[str, Minutes] = {}
    ends: dict[str, Minutes] = {}
    for step in _in_order(steps):
        ready = np.full(samples, step.start, dtype=np.int64)
        for before in step.before:
            known = started if before.its_start else ended
            if before.step in known:
                np.maximum(ready, known[before.step] + before.lag, out=ready)
        z = math.sqrt(shared) * by_job[step.job] + math.sqrt(1 - shared) * own[step.id]
        minutes = step.minutes.at(z)
        if step.pace is Pace.UNATTENDED:
            end = ready + minutes
        else:
            clock = clocks.get(id(step.windows))
            if clock is None:
                clock = clocks[id(step.windows)] = _Clock(step.windows)
            if step.pace is Pace.PAUSABLE:
                end = clock.pausable(ready, minutes)
            else:
                ready = clock.begin(ready, step.planned)
                end = ready + minutes
        started[step.id], ended[step.id] = ready, np.minimum(end, NEVER)
        ends[step.job] = np.maximum(ends.get(step.job, 0), ended[step.id])
    return Outcome(ends)


def _in_order(steps: Sequence[Step]) -> list[Step]:
    """Return the steps so that each stands behind what it waits for.

    Two vehicles that change places wait for each other; of these the earlier goes first.
    """
    ranked = sorted(steps, key=lambda step: (step.start, step.planned, step.id))
    rank = {step.id: number for number, step in enumerate(ranked)}
    missing = {step.id: {b.step for b in step.before if b.step in rank} for step in ranked}
    waiting: dict[str, list[str]] = {}
    for step_id, needed in missing.items():
        for one in needed:
            waiting.setdefault(one, []).append(step_id)
    ready = [rank[step_id] for step_id, needed in missing.items() if not needed]
    heapify(ready)
    order: list[Step] = []
    behind = 0  # everything before this rank is placed
    placed: set[str] = set()
    while len(order) < len(ranked):
        if ready:
            step = ranked[heappop(ready)]
        else:
            while ranked[behind].id in placed:
                behind += 1
            step = ranked[behind]
        if step.id in placed:
            continue
        placed.add(step.id)
        order.append(step)
        for step_id in waiting.get(step.id, ()):
            missing[step_id].discard(step.id)
            if not missing[step_id]:
                heappush(ready, rank[step_id])
    return order


def week_steps(
    week: Week, plan: Plan, ranges: Mapping[str, Range], *, others_delay: bool = True
) -> list[Step]:
    """Return the steps of a plan in the order that it fixes.

    Parameters
    ----------
    week : Week
        The problem.
    plan : Plan
        A complete plan of it.
    ranges : mapping of str to Range
        Duration of each operation; the planned one, without spread, where there is none.
    others_delay : bool
        Whether an overrun of one vehicle delays those behind it (nobody reacts to it), or every
        vehicle finds its bays and people as planned.
    """
    calendars = {one.id: join(week.calendars[one.calendar]) for one in week.crew}
    waits_for = _resource_order(week, plan) if others_delay else {}
    shared_windows: dict[tuple[str, ...], tuple[Window, ...]] = {}
    steps = []
    for job in week.jobs:
        for k, op in enumerate(job.ops):
            placed = plan.ops[op.id]
            team = tuple(sorted(placed.crew))
            if team and team not in shared_windows:
                windows = calendars[team[0]]
                for other in team[1:]:
                    windows = common(windows, calendars[other])
                shared_windows[team] = tuple(windows)
            planned = op.modes[placed.mode].dur
            before = waits_for.get(op.id, [])
            if k:
                before = [Before(job.ops[k - 1].id, op.lag_min), *before]
            steps.append(
                Step(
                    id=op.id,
                    job=job.id,
                    start=placed.start,
                    minutes=ranges.get(op.id, Range(planned or 1, planned or 1, planned or 1)),
                    planned=planned,
                    pace=_pace(op),
                    windows=shared_windows[team] if team else (),
                    before=tuple(before),
                )
            )
    return steps


def _pace(op: Operation) -> Pace:
    if not op.attended:
        return Pace.UNATTENDED
    return Pace.PAUSABLE if op.pausable else Pace.WHOLE


def _resource_order(week: Week, plan: Plan) -> dict[str, list[Before]]:
    """Return for each operation what frees its people and its bay."""
    uses: dict[str, list[tuple[int, int, str, Before]]] = {}
    single = {spot.id for spot in week.spots if spot.capacity == 1 and not spot.park}
    for job in week.jobs:
        waits = plan.waits[job.id]
        for k, op in enumerate(job.ops):
            placed = plan.ops[op.id]
            for person in placed.crew:
                one = (placed.start, placed.end, op.id, Before(op.id))
                uses.setdefault(f"crew {person}", []).append(one)
            if placed.spot in single:
                frees = Before(op.id)
                if k < len(waits) and waits[k] in (STAY, placed.spot):
                    frees = Before(job.ops[k + 1].id, its_start=True)
                one = (placed.start, placed.end, op.id, frees)
                uses.setdefault(f"spot {placed.spot}", []).append(one)
    found: dict[str, list[Before]] = {}
    for held in uses.values():
        held.sort()
        for before, after in pairwise(held):
            if before[3].step != after[2]:
                found.setdefault(after[2], []).append(before[3])
    return found
