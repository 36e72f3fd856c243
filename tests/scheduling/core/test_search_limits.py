"""The search keeps its limits, goes on from a given plan, and finds room where rules do not."""

import time
from collections.abc import Callable
from dataclasses import replace

import pytest

from scheduling.core.check import check_plan
from scheduling.core.insertion import RULES, insert_all
from scheduling.core.problem import PlanStatus
from scheduling.core.sketch import Sketch
from scheduling.core.solve import Effort, Progress, solve
from scheduling.core.warmstart import fits_of
from tests.scheduling.core.sketches import assert_sound, timetable_of
from tests.scheduling.core.weeks import random_week


def still() -> float:
    """A clock that stands still: only the rounds end the search."""
    return 0.0


def ticking(step: float) -> Callable[[], float]:
    """A clock that goes on by so much each time somebody looks."""
    now = 0.0

    def clock() -> float:
        nonlocal now
        now += step
        return now

    return clock


@pytest.mark.parametrize(("jobs", "seed", "horizon"), [(8, 1, 15030), (8, 4, 13575)])
def test_a_horizon_that_every_rule_runs_out_of_still_gets_a_plan(
    jobs: int, seed: int, horizon: int
) -> None:
    week = replace(random_week(jobs, seed), horizon=horizon)
    assert all(insert_all(week, rule(week))[1] for rule in RULES.values())
    plan = solve(week, Effort(seconds=0.0), clock=time.monotonic)
    assert plan.status is PlanStatus.FEASIBLE
    assert check_plan(week, plan) == []


def test_a_limit_too_short_returns_what_was_given() -> None:
    week = random_week(13, 2)
    good = solve(week, Effort(seconds=5, rounds=1), clock=still)
    again = solve(week, Effort(seconds=0.0), clock=time.monotonic, start=good)
    assert again.objective == good.objective
    assert check_plan(week, again) == []


def test_goes_on_from_a_given_plan() -> None:
    week = random_week(13, 2)
    good = solve(week, Effort(seconds=5, rounds=1), clock=still)
    told: list[Progress] = []
    effort = Effort(seconds=5, rounds=0)
    solve(week, effort, clock=still, start=good, progress=told.append)
    assert told[0].best == good.objective


def test_a_plan_becomes_fits_and_a_plan_again() -> None:
    week = random_week(13, 6)
    plan = solve(week, Effort(seconds=5, rounds=1), clock=still)
    sketch = Sketch(timetable_of(week))
    sketch.read(fits_of(week, plan, sketch.timetable.empty.resources).items())
    again = assert_sound(sketch)
    assert again.ops == plan.ops
    assert again.waits == plan.waits


def test_same_seed_same_rounds_same_plan() -> None:
    week = random_week(13, 5)
    # So long a limit that no model reaches it, however busy the machine is.
    effort = Effort(seconds=60, rounds=2, seed=3)
    one, two = (solve(week, effort, clock=still) for _ in range(2))
    assert one.ops == two.ops
    assert one.waits == two.waits


@pytest.mark.parametrize("seconds", [0.5, 3.0])
def test_ends_soon_after_its_time(seconds: float) -> None:
    week = random_week(15, 1)
    plan = solve(week, Effort(seconds=seconds), clock=ticking(0.02))
    assert plan.seconds <= 1.05 * seconds + 0.3
    assert check_plan(week, plan) == []
