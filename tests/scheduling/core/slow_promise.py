"""A promise the slow way: one draw after the other, window by window, without NumPy."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from random import Random

from scheduling.core.draws import NEVER, Range, draw
from scheduling.core.promise import OVERTIME_MINUTES, SHARED, Before, Pace, Step
from scheduling.core.values import Window

DAY = 24 * 60


def slow_ends(
    steps: Sequence[Step], *, samples: int, seed: int, only: range | None = None
) -> dict[str, list[int]]:
    """Return the ends of every job, draw by draw; ``only`` some of the draws.

    Steps stand in an order in which each comes after what it waits for.
    """
    own = {step.id: draw(step.id, samples=samples, seed=seed).tolist() for step in steps}
    of_job = {step.job: draw(f"job {step.job}", samples=samples, seed=seed) for step in steps}
    ends: dict[str, list[int]] = {step.job: [] for step in steps}
    for k in only or range(samples):
        minutes = {
            step.id: duration(
                step.minutes,
                math.sqrt(1 - SHARED) * own[step.id][k]
                + math.sqrt(SHARED) * float(of_job[step.job][k]),
            )
            for step in steps
        }
        for job, end in one_draw(steps, minutes).items():
            ends[job].append(end)
    return ends


def duration(minutes: Range, z: float) -> int:
    """Return the duration for one normal draw."""
    below, above = minutes.spreads
    return max(1, round(minutes.p50 * math.exp((below if z < 0 else above) * z)))


def one_draw(steps: Sequence[Step], minutes: Mapping[str, int]) -> dict[str, int]:
    """Return the end of every job when the steps take so many minutes."""
    started: dict[str, int] = {}
    ended: dict[str, int] = {}
    ends: dict[str, int] = {}
    for step in steps:
        at = step.start
        for before in step.before:
            known = started if before.its_start else ended
            if before.step in known:
                at = max(at, known[before.step] + before.lag)
        if step.pace is Pace.UNATTENDED:
            end = at + minutes[step.id]
        elif step.pace is Pace.PAUSABLE:
            end = pausable(step.windows, at, minutes[step.id])
        else:
            at = begin(step.windows, at, step.planned)
            end = at + minutes[step.id]
        started[step.id], ended[step.id] = at, min(end, NEVER)
        ends[step.job] = max(ends.get(step.job, 0), ended[step.id])
    return ends


def pausable(windows: Sequence[Window], start: int, left: int) -> int:
    """Return when so much work is done; the rest of a few minutes is not left lying."""
    closed = 0
    for a, b in windows:
        if b <= start:
            continue
        begun = max(a, start)
        if left <= b - begun:
            stays = closed > start and left <= OVERTIME_MINUTES
            return closed + left if stays else begun + left
        left -= b - begun
        closed = b
    return NEVER


def begin(windows: Sequence[Window], ready: int, planned: int) -> int:
    """Return when to begin what is planned to fit into one window."""
    for a, b in windows:
        latest = min(b - planned + OVERTIME_MINUTES, b - 1)
        if b - a >= planned and ready <= latest:
            return max(a, ready)
    return NEVER


def invented_shop(jobs: int, *, operations: int = 8, bays: int = 4, seed: int = 7) -> list[Step]:
    """Return jobs one behind the other in a few bays with a person each, in order of start."""
    rng = Random(seed)  # noqa: S311 -- invented work
    days = [day * DAY for day in range(60) if day % 7 < 5]
    week = tuple((day + a, day + b) for day in days for a, b in ((480, 720), (750, 1020)))
    free = [480] * bays
    last: dict[int, str] = {}
    steps: list[Step] = []
    for job in range(jobs):
        bay = min(range(bays), key=lambda one: free[one])
        at, before = free[bay], [Before(last[bay])] if bay in last else []
        for number in range(operations):
            cures = number == operations - 1
            pace = Pace.UNATTENDED if cures else rng.choice([Pace.PAUSABLE, Pace.WHOLE])
            planned = 5 * rng.randrange(4, 36)
            spread = rng.uniform(1.1, 1.5)
            minutes = Range(0.95 * planned / spread, 0.95 * planned, 0.95 * planned * spread)
            windows = () if cures else week
            name = f"{job}-{number}"
            if pace is Pace.PAUSABLE:
                end = pausable(windows, at, planned)
            else:
                at = at if cures else begin(windows, at, planned)
                end = at + planned
            steps.append(Step(name, str(job), at, minutes, planned, pace, windows, tuple(before)))
            before, at = [Before(name, lag=5)], end + 5
            if number == operations - 2:
                free[bay], last[bay] = end, name
    return sorted(steps, key=lambda step: (step.start, int(step.id.split("-")[1])))
