"""PyJobShop, an independent model of scheduling, finds the same optimum for random small weeks.

What it can express exactly is drawn: bays by capability and closure, parking for all, calendars
as breaks (pausable work goes on after them), minimum and maximum lags, modes, lamps as a
renewable resource, release and due times. Each choice of bay, person and mode is one of its modes.
"""

import random
import time
from itertools import pairwise, product
from typing import Any

import pytest

from scheduling.core.check import check_plan
from scheduling.core.problem import (
    CrewMember,
    Job,
    Mode,
    Objective,
    Operation,
    PlanStatus,
    Spot,
    Week,
)
from scheduling.core.solve import Effort, solve
from scheduling.core.values import Window

pyjobshop = pytest.importorskip("pyjobshop", reason="PyJobShop: pip install '.[compare]'")

LAST = 40
GRID = 15
WEEKS = 30


def random_small_week(seed: int) -> Week:
    """Return a week of two or three jobs that PyJobShop can express."""
    rng = random.Random(seed)  # noqa: S311 -- test cases, not secrets
    horizon = GRID * LAST
    # Its flow time is weighted, ours is not: weights where tardiness stands alone.
    goal, weights = rng.choice(
        [
            (Objective(tardiness=3, flow=1, move=0, per=GRID), 1),
            (Objective(tardiness=1, flow=0, move=0, per=GRID), 3),
            (Objective(tardiness=0, flow=0, move=0, per=GRID, makespan=1), 1),
        ]
    )
    jobs = [_job(f"J{number}", rng, weights) for number in range(rng.randint(2, 3))]
    closed = GRID * rng.randint(2, 8)
    return Week(
        grid=GRID,
        horizon=horizon,
        spots=(
            Spot("bay1", frozenset({"polish"})),
            Spot("bay2", frozenset({"polish"}), closures=((closed, closed + 3 * GRID),)),
            Spot("booth", frozenset({"coat", "cure"})),
            Spot("yard", capacity=len(jobs), park=True),
        ),
        crew=(
            CrewMember("P", "early", frozenset({"polish"})),
            CrewMember("Q", "late", frozenset({"polish", "coat"})),
        ),
        calendars={"early": _shifts(0, rng), "late": _shifts(rng.randint(1, 3), rng)},
        opening=((0, horizon),),
        lamps=1,
        objective=goal,
        jobs=tuple(jobs),
    )


def _shifts(begin: int, rng: random.Random) -> tuple[Window, ...]:
    """Return three windows with two breaks of random length between them."""
    cuts = sorted(rng.sample(range(begin + 3, LAST - 12), 2))
    first, second = rng.randint(1, 2), rng.randint(1, 6)
    windows = (
        (begin, cuts[0]),
        (cuts[0] + first, cuts[1] + first),
        (cuts[1] + first + second, LAST),
    )
    return tuple((GRID * start, GRID * end) for start, end in windows)


def _job(name: str, rng: random.Random, weights: int) -> Job:
    # Work that pauses where a bay closes would pause in PyJobShop but not with us.
    ops = [
        Operation(f"{name}.1", "polish", (Mode(GRID * rng.randint(1, 4)),), crew=1, skill="polish"),
        Operation(
            f"{name}.2",
            "coat",
            (Mode(GRID * rng.randint(1, 2)),),
            crew=1,
            skill="coat",
            pausable=rng.random() < 0.5,
            lag_min=GRID * rng.randint(0, 2),
        ),
        Operation(
            f"{name}.3",
            "cure",
            (Mode(GRID * rng.randint(4, 6)), Mode(GRID * 2, lamps=1)),
            lag_max=GRID * rng.randint(0, 3),
        ),
    ]
    release = GRID * rng.randint(0, 4)
    return Job(
        name, tuple(ops), release, release + GRID * rng.randint(4, 12), rng.randint(1, weights)
    )


def by_second_solver(week: Week) -> float | None:
    """Return the optimum that PyJobShop proves; None where it proves that there is no plan."""
    model = pyjobshop.Model()
    grid = week.grid
    last = week.horizon // grid
    spots = {spot.id: model.add_machine(breaks=_slots(spot.closures, grid)) for spot in week.spots}
    crew = {
        one.id: model.add_machine(breaks=_off(week.calendars[one.calendar], grid, last))
        for one in week.crew
    }
    lamps = model.add_renewable(capacity=week.lamps)
    for job in week.jobs:
        made = model.add_job(
            weight=int(job.weight), release_date=job.release // grid, due_date=job.due // grid
        )
        tasks = [
            model.add_task(job=made, latest_end=last, allow_breaks=op.pausable) for op in job.ops
        ]
        for op, task in zip(job.ops, tasks, strict=True):
            _add_modes(model, week, op, task, (spots, crew, lamps))
        for (_, one), (op, two) in pairwise(zip(job.ops, tasks, strict=True)):
            model.add_end_before_start(one, two, op.lag_min // grid)
            if op.lag_max is not None:
                model.add_start_before_end(two, one, -(op.lag_max // grid))
    goal = week.objective
    model.set_objective(
        weight_makespan=int(goal.makespan),
        weight_total_tardiness=int(goal.tardiness),
        weight_total_flow_time=int(goal.flow),
    )
    result = model.solve(time_limit=60, num_workers=1, display=False)
    assert result.status.value in ("Optimal", "Infeasible")
    return result.objective if result.status.value == "Optimal" else None


def _add_modes(
    model: Any, week: Week, op: Operation, task: Any, made: tuple[Any, Any, Any]
) -> None:
    """Add one mode for each choice of mode, bay and person."""
    spots, crew, lamps = made
    bays = [spots[spot.id] for spot in week.spots if op.spot_cap in spot.caps]
    people = [[crew[one.id]] for one in week.crew if op.skill in one.skills] if op.crew else [[]]
    for mode, bay, person in product(op.modes, bays, people):
        needed, units = [bay, *person], [0] * (1 + len(person))  # a machine has no units
        if mode.lamps:
            needed, units = [*needed, lamps], [*units, mode.lamps]
        model.add_mode(task, needed, mode.dur // week.grid, units)


def _slots(windows: tuple[Window, ...], grid: int) -> list[Window]:
    return [(start // grid, end // grid) for start, end in windows]


def _off(windows: tuple[Window, ...], grid: int, last: int) -> list[Window]:
    at, off = 0, []
    for start, end in (*_slots(windows, grid), (last, last)):
        if at < start:
            off.append((at, start))
        at = end
    return off


@pytest.mark.parametrize("seed", range(WEEKS))
def test_same_optimum(seed: int) -> None:
    week = random_small_week(seed)
    plan = solve(week, Effort(seconds=60), clock=time.monotonic)
    theirs = by_second_solver(week)
    if theirs is None:
        assert plan.status is PlanStatus.IMPOSSIBLE
        return
    assert plan.status is PlanStatus.OPTIMAL
    assert check_plan(week, plan) == []
    assert plan.objective == pytest.approx(theirs)
    assert plan.bound == pytest.approx(theirs)
