"""The pick-up time to promise: late enough to hold with the shop's chosen probability.

The durations of the visit and of everything planned before it in the same bays and by the same
people are drawn many times through the fixed order of the calendar, so that an overrun
elsewhere counts. See :mod:`scheduling.core.promise`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_DOWN, Decimal
from typing import Final

from scheduling.core.draws import Range
from scheduling.core.fit import Fit
from scheduling.core.problem import STAY
from scheduling.core.promise import (
    Before,
    Outcome,
    Use,
    one_after_the_other,
    simulate,
    waited_for,
)
from scheduling.core.promise import Step as Drawn
from scheduling.services.horizon import Horizon
from scheduling.services.neighbours import NOBODY, PACES, Neighbours, team_windows
from shop.models import Attendance, Operation

SAMPLES: Final = 4000
"""So that no probability is off by as much as 0.015; see the tests of the core."""
SEED: Final = 1
"""Always the same draws: the same question gets the same answer."""
STEP_MINUTES: Final = 15
"""A promise is told in quarters of an hour."""
MOST_STEPS: Final = 80
"""Of the work before a visit the nearest counts; delays lose themselves in the gaps."""
_JOB: Final = "this visit"


@dataclass(frozen=True)
class Promise:
    """A moment inside opening hours, and the probability that work is done by then."""

    minute: int
    probability: Decimal


def promise_of(
    operations: Sequence[Operation],
    fit: Fit,
    horizon: Horizon,
    neighbours: Neighbours = NOBODY,
) -> Promise:
    """Return what to promise for a placement, never before its planned pick-up.

    Parameters
    ----------
    neighbours
        The work planned around it; without them every bay and person is free as planned.
    """
    outcome = _outcome(operations, fit, horizon, neighbours)
    wanted = min(max(float(horizon.shop.promise_probability), 0.001), 0.999)
    done = outcome.minute_for(_JOB, wanted)
    minute = _open_from(max(horizon.resources.horizon if done is None else done, fit.end), horizon)
    return Promise(minute, _share(outcome, minute))


def probability_by(
    operations: Sequence[Operation],
    fit: Fit,
    horizon: Horizon,
    minute: int,
    neighbours: Neighbours = NOBODY,
) -> Decimal:
    """Return the probability that the work of a placement is done by a minute."""
    return _share(_outcome(operations, fit, horizon, neighbours), minute)


def _outcome(
    operations: Sequence[Operation], fit: Fit, horizon: Horizon, neighbours: Neighbours
) -> Outcome:
    return simulate(_all_steps(operations, fit, horizon, neighbours), samples=SAMPLES, seed=SEED)


def _share(outcome: Outcome, minute: int) -> Decimal:
    """Never rounded up: a promise must not look better than it is."""
    share = outcome.probability(_JOB, minute)
    return Decimal(str(share)).quantize(Decimal("0.001"), rounding=ROUND_DOWN)


def _all_steps(
    operations: Sequence[Operation], fit: Fit, horizon: Horizon, neighbours: Neighbours
) -> list[Drawn]:
    """The visit and what it waits for, each step knowing what frees its people and its bay."""
    own, uses = _steps(operations, fit, horizon)
    if not neighbours.steps:
        return own
    together: dict[str, list[Use]] = {unit: list(held) for unit, held in neighbours.uses.items()}
    for unit, held in uses.items():
        together.setdefault(unit, []).extend(held)
    order = one_after_the_other(together.values())
    steps = [
        replace(step, before=(*step.before, *order[step.id])) if step.id in order else step
        for step in (*neighbours.steps, *own)
    ]
    return waited_for(steps, _JOB, most=MOST_STEPS)


def with_visit(
    around: Neighbours, name: str, operations: Sequence[Operation], fit: Fit, horizon: Horizon
) -> Neighbours:
    """Return the work around with one more visit, whose steps get names that begin with its own."""
    steps, added = _steps(operations, fit, horizon, name)
    uses = dict(around.uses)
    for unit, held in added.items():
        uses[unit] = (*uses.get(unit, ()), *held)
    return Neighbours((*around.steps, *steps), uses)


def _steps(
    operations: Sequence[Operation], fit: Fit, horizon: Horizon, job: str = _JOB
) -> tuple[list[Drawn], dict[str, list[Use]]]:
    """The operations in their fixed places, and what they use."""
    rows = {str(row.sequence): row for row in operations}
    waits = fit.plan_waits()
    names = [op.op_id if job == _JOB else f"{job} {op.op_id}" for op in fit.ops]
    steps: list[Drawn] = []
    uses: dict[str, list[Use]] = {}
    for k, op in enumerate(fit.ops):
        row = rows[op.op_id]
        before = (Before(steps[-1].id, row.lag_min_minutes),) if steps else ()
        steps.append(
            Drawn(
                id=names[k],
                job=job,
                start=op.start,
                minutes=Range(row.minutes_p10, row.minutes_p50, row.minutes_p90),
                planned=row.planned_minutes,
                pace=PACES[Attendance(row.attendance)],
                windows=team_windows(horizon, tuple(sorted(op.crew)), fit.end),
                before=before,
            )
        )
        stays = k < len(waits) and waits[k] in (STAY, op.spot)
        leaves = Before(names[k + 1], its_start=True) if stays else Before(names[k])
        uses.setdefault(op.spot, []).append((op.start, op.end, names[k], leaves))
        for person in op.crew:
            uses.setdefault(person, []).append((op.start, op.end, names[k], Before(names[k])))
    return steps, uses


def _open_from(minute: int, horizon: Horizon) -> int:
    """Return the first quarter of an hour from ``minute`` on at which the shop is open."""
    at = math.ceil(minute / STEP_MINUTES) * STEP_MINUTES
    for start, end in horizon.resources.opening:
        if at <= end:
            return max(at, math.ceil(start / STEP_MINUTES) * STEP_MINUTES)
    return min(at, horizon.resources.horizon)
