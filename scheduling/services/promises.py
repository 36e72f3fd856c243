"""The pick-up time to promise: late enough to hold with the shop's chosen probability.

Other vehicles keep to their plan, which is the simplification here: an overrun
elsewhere does not delay this one. See :mod:`scheduling.core.promise`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal
from typing import Final

from scheduling.core.fit import Fit, FitOp
from scheduling.core.freeindex import Technician
from scheduling.core.problem import Window
from scheduling.core.promise import Before, Pace, Range, simulate
from scheduling.core.promise import Step as Drawn
from scheduling.core.worktime import common, join
from scheduling.services.horizon import Horizon
from shop.models import Attendance, Operation

SAMPLES: Final = 2000
SEED: Final = 1
"""Always the same draws: the same question gets the same answer."""
STEP_MINUTES: Final = 15
"""A promise is told in quarters of an hour."""
LOOK_AHEAD_MINUTES: Final = 14 * 24 * 60
"""How long after its planned end an overrun is followed."""
_JOB: Final = "job"
_PACES: Final = {
    Attendance.PAUSABLE: Pace.PAUSABLE,
    Attendance.THROUGH: Pace.WHOLE,
    Attendance.UNATTENDED: Pace.UNATTENDED,
}


@dataclass(frozen=True)
class Promise:
    """A moment inside opening hours, and the probability that work is done by then."""

    minute: int
    probability: Decimal


def promise_of(operations: Sequence[Operation], fit: Fit, horizon: Horizon) -> Promise:
    """Return what to promise for a placement, never before its planned pick-up."""
    outcome = simulate(_steps(operations, fit, horizon), samples=SAMPLES, seed=SEED)
    wanted = min(max(float(horizon.shop.promise_probability), 0.001), 0.999)
    done = outcome.minute_for(_JOB, wanted)
    # Minutes of the draws count from the drop-off.
    until = horizon.resources.horizon if done is None else done + fit.start
    minute = _open_from(max(until, fit.end), horizon)
    share = outcome.probability(_JOB, minute - fit.start)
    # Never rounded up: a promise must not look better than it is.
    return Promise(minute, Decimal(str(share)).quantize(Decimal("0.001"), rounding=ROUND_DOWN))


def _steps(operations: Sequence[Operation], fit: Fit, horizon: Horizon) -> list[Drawn]:
    """The operations in their fixed places; minutes from the drop-off keep the tables small."""
    rows = {str(row.sequence): row for row in operations}
    teams: dict[tuple[str, ...], tuple[Window, ...]] = {}
    steps: list[Drawn] = []
    for op in fit.ops:
        row = rows[op.op_id]
        if op.crew not in teams:
            teams[op.crew] = _windows(op, fit, horizon)
        before = (Before(steps[-1].id, row.lag_min_minutes),) if steps else ()
        steps.append(
            Drawn(
                id=op.op_id,
                job=_JOB,
                start=op.start - fit.start,
                minutes=Range(row.minutes_p10, row.minutes_p50, row.minutes_p90),
                planned=row.planned_minutes,
                pace=_PACES[Attendance(row.attendance)],
                windows=teams[op.crew],
                before=before,
            )
        )
    return steps


def _windows(op: FitOp, fit: Fit, horizon: Horizon) -> tuple[Window, ...]:
    """Stretches in which the whole crew of an operation is there, from the drop-off on."""
    people = [horizon.resources.by_id[one] for one in op.crew]
    shifts = [join(one.windows) for one in people if isinstance(one, Technician)]
    windows = shifts[0] if shifts else []
    for other in shifts[1:]:
        windows = common(windows, other)
    near = common(windows, [(fit.start, fit.end + LOOK_AHEAD_MINUTES)])
    return tuple((start - fit.start, end - fit.start) for start, end in near)


def _open_from(minute: int, horizon: Horizon) -> int:
    """Return the first quarter of an hour from ``minute`` on at which the shop is open."""
    at = math.ceil(minute / STEP_MINUTES) * STEP_MINUTES
    for start, end in horizon.resources.opening:
        if at <= end:
            return max(at, math.ceil(start / STEP_MINUTES) * STEP_MINUTES)
    return min(at, horizon.resources.horizon)
