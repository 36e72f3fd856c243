"""Brute force with what makes weeks hard: lamps, pairs, parking, closures, frozen starts."""

import random
import time
from dataclasses import replace

import pytest

from scheduling.core.check import check_plan
from scheduling.core.problem import (
    CrewMember,
    Frozen,
    Job,
    Mode,
    Objective,
    Operation,
    PlanStatus,
    Spot,
    Week,
)
from scheduling.core.solve import Effort, solve
from tests.scheduling.core.test_solve_against_brute_force import best_by_brute_force

HOUR = 60
LAST = 8


def wide_week(seed: int) -> Week:
    """Three jobs of one or two steps; two of them wait for the only lamp and the only booth."""
    rng = random.Random(seed)  # noqa: S311 -- test cases, not secrets
    jobs = []
    for name in "ABC":
        pair = name == "C"
        work = Mode(HOUR * rng.randint(1, 2))
        pausable = rng.random() < 0.6
        ops = [
            Operation(
                f"{name}1", "polish", (work,), crew=1 + pair, skill="polish", pausable=pausable
            )
        ]
        if not pair:
            dries = (Mode(HOUR * rng.randint(2, 3)), Mode(HOUR, lamps=1))
            least = HOUR * rng.randint(0, 1)
            lag_max = least + HOUR * rng.randint(0, 2)
            ops.append(Operation(f"{name}2", "cure", dries, lag_min=least, lag_max=lag_max))
        due = HOUR * rng.randint(2, 6)
        jobs.append(Job(name, tuple(ops), HOUR * rng.randint(0, 1), due, rng.randint(1, 3)))
    closed = HOUR * rng.randint(1, 6)
    return Week(
        grid=HOUR,
        horizon=HOUR * LAST,
        spots=(
            Spot("bay", frozenset({"polish"})),
            Spot("booth", frozenset({"cure"}), capacity=2, closures=((closed, closed + HOUR),)),
            Spot("lot", park=True),
        ),
        crew=(
            CrewMember("T1", "day", frozenset({"polish"})),
            CrewMember("T2", "half", frozenset({"polish"})),
        ),
        calendars={"day": ((0, 180), (240, 480)), "half": ((0, 120), (180, 480))},
        opening=((0, HOUR * rng.randint(5, LAST)),),
        lamps=1,
        objective=Objective(tardiness=20, flow=1, move=2, per=15),
        jobs=tuple(jobs),
    )


def compared(week: Week) -> None:
    plan = solve(week, Effort(seconds=20), clock=time.monotonic)
    try:
        best = best_by_brute_force(week)
    except AssertionError:
        assert plan.status is PlanStatus.IMPOSSIBLE
        return
    assert plan.status is PlanStatus.OPTIMAL
    assert check_plan(week, plan) == []
    assert plan.objective == pytest.approx(best)
    assert plan.bound == pytest.approx(best)


@pytest.mark.parametrize("seed", range(8))
def test_optimum(seed: int) -> None:
    compared(wide_week(seed))


@pytest.mark.parametrize("seed", [0, 1])
def test_optimum_with_a_frozen_start(seed: int) -> None:
    compared(replace(wide_week(seed), frozen={"B1": Frozen(start=HOUR * 4)}))
