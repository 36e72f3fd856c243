"""The pick-up time to promise: late enough to hold with the shop's chosen probability.

The operations of one vehicle are drawn at random many times and run through their
placement: nothing starts before its planned start, work runs in the shifts of its
crew, a cure runs through the night. Other vehicles keep to their plan, which is
the simplification here: an overrun elsewhere does not delay this one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal
from statistics import NormalDist
from typing import Final

import numpy as np
import numpy.typing as npt

from scheduling.core.fit import Fit, FitOp
from scheduling.core.freeindex import Technician
from scheduling.core.problem import Window
from scheduling.core.worktime import common, join
from scheduling.services.horizon import Horizon
from shop.models import Attendance, Operation

SAMPLES: Final = 2000
SEED: Final = 20_260_301
"""Always the same draws: the same question gets the same answer."""
CORRELATION: Final = 0.5
"""Between durations of one vehicle: hard paint slows all of it (common practice, no source)."""
STEP_MINUTES: Final = 15
"""A promise is told in quarters of an hour."""
_Z90: Final = NormalDist().inv_cdf(0.9)

Minutes = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Promise:
    """A moment inside opening hours, and the share of cases in which work is done by then."""

    minute: int
    probability: Decimal


def promise_of(operations: Sequence[Operation], fit: Fit, horizon: Horizon) -> Promise:
    """Return what to promise for a placement, never before its planned pick-up."""
    done = _done(operations, fit, horizon)
    wanted = min(max(float(horizon.shop.promise_probability), 0.0), 0.999)
    quantile = float(np.sort(done)[max(0, math.ceil(wanted * SAMPLES) - 1)])
    minute = _open_from(max(quantile, fit.end), horizon)
    share = float((done <= minute).mean())
    # Never rounded up: a promise must not look better than it is.
    probability = Decimal(str(share)).quantize(Decimal("0.001"), rounding=ROUND_DOWN)
    return Promise(minute, probability)


def _done(operations: Sequence[Operation], fit: Fit, horizon: Horizon) -> Minutes:
    """Minutes from the origin at which all work is done, one for each draw."""
    rows = {str(row.sequence): row for row in operations}
    rng = np.random.default_rng(SEED)
    shared = rng.standard_normal(SAMPLES)
    now: Minutes = np.full(SAMPLES, float(fit.ops[0].start))
    for op in fit.ops:
        row = rows[op.op_id]
        own = rng.standard_normal(SAMPLES)
        z = math.sqrt(CORRELATION) * shared + math.sqrt(1 - CORRELATION) * own
        minutes = _durations(row, z)
        start = np.maximum(now + row.lag_min_minutes, op.start)
        if row.attendance == Attendance.UNATTENDED:
            now = start + minutes
            continue
        windows = _windows(op, horizon)
        pausable = row.attendance == Attendance.PAUSABLE
        now = _worked(start, minutes, windows) if pausable else _through(start, minutes, windows)
    return now


def _durations(row: Operation, z: Minutes) -> Minutes:
    """Draws of a duration: log-normal through P50 and P90."""
    sigma = math.log(row.minutes_p90 / row.minutes_p50) / _Z90
    return row.minutes_p50 * np.exp(sigma * z)


def _windows(op: FitOp, horizon: Horizon) -> list[Window]:
    """Stretches in which the whole crew of an operation is there."""
    people = [horizon.resources.by_id[one] for one in op.crew]
    shifts = [join(one.windows) for one in people if isinstance(one, Technician)]
    windows = shifts[0]
    for other in shifts[1:]:
        windows = common(windows, other)
    return [(start, end) for start, end in windows if end > op.start]


def _worked(start: Minutes, minutes: Minutes, windows: Sequence[Window]) -> Minutes:
    """End of work that sleeps over breaks and nights; infinite where the calendar ends."""
    starts = np.array([a for a, _ in windows], dtype=float)
    ends = np.array([b for _, b in windows], dtype=float)
    before = np.concatenate([[0.0], np.cumsum(ends - starts)])
    i = np.searchsorted(starts, start, side="right") - 1
    k = np.maximum(i, 0)
    worked = np.where(i < 0, 0.0, before[k] + np.minimum(start, ends[k]) - starts[k])
    target = worked + minutes
    j = np.searchsorted(before, target, side="left") - 1
    found = np.minimum(j, len(starts) - 1)
    return np.where(j < len(starts), starts[found] + target - before[found], np.inf)


def _through(start: Minutes, minutes: Minutes, windows: Sequence[Window]) -> Minutes:
    """End of work that may not pause: begun in the first window that has room for it.

    What takes longer than any window is begun in its first and runs over: people stay.
    """
    starts = np.array([a for a, _ in windows], dtype=float)
    ends = np.array([b for _, b in windows], dtype=float)
    minutes = np.minimum(minutes, (ends - starts).max())
    i = np.searchsorted(ends, start, side="right")
    begun = np.full(start.shape, np.inf)
    for _again in range(len(starts)):
        inside = i < len(starts)
        k = np.minimum(i, len(starts) - 1)
        begin = np.maximum(start, starts[k])
        fits = inside & np.isinf(begun) & (begin + minutes <= ends[k])
        begun = np.where(fits, begin, begun)
        waiting = inside & np.isinf(begun)
        if not waiting.any():
            break
        i = np.where(waiting, i + 1, i)
    return begun + minutes


def _open_from(minute: float, horizon: Horizon) -> int:
    """Return the first quarter of an hour from ``minute`` on at which the shop is open."""
    last = horizon.resources.horizon
    at = last if math.isinf(minute) else math.ceil(minute / STEP_MINUTES) * STEP_MINUTES
    for start, end in horizon.resources.opening:
        if at <= end:
            return max(at, math.ceil(start / STEP_MINUTES) * STEP_MINUTES)
    return min(at, last)
