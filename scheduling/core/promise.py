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
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from functools import lru_cache
from heapq import heapify, heappop, heappush
from itertools import pairwise

import numpy as np

from scheduling.core.draws import NEVER, Minutes, Range, draw, durations
from scheduling.core.values import Window

OVERTIME_MINUTES = 30
"""How long people stay to finish something (common practice, no source)."""
SHARED = 0.5
"""Correlation of durations within one vehicle (common practice, no source)."""


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
        # Tables begin with the first window; what lies before it is as good as its start.
        self.base = base = windows[0][0] if windows else 0
        windows = tuple((start - base, end - base) for start, end in windows)
        self.windows = windows
        size = windows[-1][1] + 1 if windows else 1
        work = np.zeros(size, dtype=np.int32)
        for start, end in windows:
            work[start:end] = 1
        self.size = size
        self.worked = np.concatenate([[0], np.cumsum(work)]).astype(np.int32)
        self.end_of = np.append(np.flatnonzero(work) + 1 + base, NEVER).astype(np.int32)
        into = [np.arange(1, end - start + 1) for start, end in windows]
        ends = [-1, *(end + base for _, end in windows)]
        lengths = [end - start for start, end in windows]
        self.into_window = np.concatenate([*into, [NEVER]]).astype(np.int32)
        self.end_before = np.append(np.repeat(ends[:-1], lengths), -1).astype(np.int32)
        self._begins: dict[int, Minutes] = {}

    def pausable(self, start: Minutes, minutes: Minutes) -> Minutes:
        """Return when so many minutes of work are done."""
        # Beyond the last minute every table repeats its last entry: never.
        last = self.worked.take(start - self.base, mode="clip") + (minutes - 1)
        left_over = self.into_window.take(last, mode="clip")
        closed = self.end_before.take(last, mode="clip")
        stayed = (left_over <= OVERTIME_MINUTES) & (closed > start)
        return np.where(stayed, closed + left_over, self.end_of.take(last, mode="clip"))

    def begin(self, start: Minutes, planned: int) -> Minutes:
        """Return the first minute at which to begin what is planned to take one window."""
        table = self._begins.get(planned)
        if table is None:
            table = np.full(self.size + 1, NEVER, dtype=np.int32)
            until = 0
            for a, b in self.windows:
                if b - a >= planned:
                    latest = min(b - planned + OVERTIME_MINUTES, b - 1)
                    table[until:a] = a + self.base
                    table[a : latest + 1] = np.arange(a, latest + 1) + self.base
                    until = latest + 1
            self._begins[planned] = table
        return table.take(start - self.base, mode="clip")


@lru_cache(maxsize=32)
def _clock(windows: tuple[Window, ...]) -> _Clock:
    return _Clock(windows)


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
        The same seed draws the same numbers for the same identifiers, whatever else a plan
        holds, so that two plans can be compared draw by draw.
    shared : float
        Correlation of the durations within one job, 0 to 1.
    """
    if not 0 <= shared <= 1:
        raise ValueError(f"a correlation within a job is 0 to 1, not {shared}")
    order = _in_order(steps)
    drawn = drawn_minutes(order, samples=samples, seed=seed, shared=shared)
    started: dict[str, Minutes] = {}
    ended: dict[str, Minutes] = {}
    ends: dict[str, Minutes] = {}
    clocks: dict[int, _Clock] = {}  # by identity: hashing many windows is slow
    for step, minutes in zip(order, drawn, strict=True):
        ready: Minutes | int = step.start
        for before in step.before:
            known = (started if before.its_start else ended).get(before.step)
            if known is not None:
                ready = np.maximum(ready, known + before.lag if before.lag else known)
        if isinstance(ready, int):
            ready = np.full(samples, ready, dtype=np.int32)
        if step.pace is Pace.UNATTENDED:
            end = ready + minutes
        else:
            clock = clocks.get(id(step.windows))
            if clock is None:
                clock = clocks[id(step.windows)] = _clock(step.windows)
            if step.pace is Pace.PAUSABLE:
                end = clock.pausable(ready, minutes)
            else:
                ready = clock.begin(ready, step.planned)
                end = ready + minutes
        started[step.id], ended[step.id] = ready, np.minimum(end, NEVER, out=end)
        ends[step.job] = np.maximum(ends[step.job], end) if step.job in ends else end
    return Outcome(ends)


def drawn_minutes(steps: Sequence[Step], *, samples: int, seed: int, shared: float) -> Minutes:
    """Return the drawn durations, one row of samples for each step."""
    if not steps:
        return np.zeros((0, samples), dtype=np.int32)
    of_job = {
        job: math.sqrt(shared) * draw(f"job {job}", samples=samples, seed=seed)
        for job in {step.job for step in steps}
    }
    z = np.empty((len(steps), samples))
    for row, step in zip(z, steps, strict=True):
        np.multiply(draw(step.id, samples=samples, seed=seed), math.sqrt(1 - shared), out=row)
        row += of_job[step.job]
    return durations([step.minutes for step in steps], z)


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


Use = tuple[int, int, str, Before]
"""Start, end and identifier of a step that uses something, and what frees it afterwards."""


def one_after_the_other(uses: Iterable[list[Use]]) -> dict[str, list[Before]]:
    """Return for each step what frees the things it uses; each list is of one thing."""
    found: dict[str, list[Before]] = {}
    for held in uses:
        for before, after in pairwise(sorted(held)):
            if before[3].step != after[2]:
                found.setdefault(after[2], []).append(before[3])
    return found


def waited_for(steps: Sequence[Step], job: str, *, most: int) -> list[Step]:
    """Return the steps of a job and those it waits for, directly or not.

    Parameters
    ----------
    most : int
        With more than this many only the nearest are kept: a delay loses itself in the gaps.
    """
    by_id = {step.id: step for step in steps}
    found = {step.id: step for step in steps if step.job == job}
    edge = list(found.values())
    while edge and len(found) < most:
        reached: list[Step] = []
        for step in edge:
            for before in step.before:
                other = by_id.get(before.step)
                if other is not None and other.id not in found and len(found) < most:
                    found[other.id] = other
                    reached.append(other)
        edge = reached
    return list(found.values())
