"""The bound by prices: never above an optimum, never below each job alone, repeatable."""

import time
from dataclasses import replace

import pytest
from ortools.sat.python import cp_model

from scheduling.core.bounds import alone
from scheduling.core.bounds_prices import PriceBound, grain_of
from scheduling.core.cpmodel import Limits, solver_for
from scheduling.core.freeindex import FreeIndex
from scheduling.core.insertion import insert_all, week_resources
from scheduling.core.problem import Objective, PlanStatus, Week
from scheduling.core.solve import Effort, solve
from scheduling.core.weekmodel import WeekModel
from tests.scheduling.core.test_solve_against_brute_force import best_by_brute_force, tiny_week
from tests.scheduling.core.weeks import random_week


def bounded(week: Week, times: int, known: float = 0.0, seed: int = 1) -> PriceBound:
    empty = FreeIndex(week_resources(week))
    prices = PriceBound(week, empty, known=known, seed=seed)
    for _ in range(times):
        prices.improve()
    return prices


@pytest.mark.parametrize("seed", [*range(4, 10)])
def test_never_above_the_best_of_all_placements(seed: int) -> None:
    week = tiny_week(seed)
    best = best_by_brute_force(week)
    bound = bounded(week, 12).bound
    assert bound <= best + 1e-6
    assert bound >= 0.65 * best  # or there would be nothing to it


@pytest.mark.parametrize(("jobs", "seed"), [(3, 11), (3, 12), (4, 13)])
def test_never_above_a_proven_optimum_and_close_to_it(jobs: int, seed: int) -> None:
    week = random_week(jobs, seed, days=14)
    plan = solve(week, Effort(seconds=60), clock=time.monotonic)
    assert plan.status is PlanStatus.OPTIMAL
    assert plan.objective is not None
    bound = bounded(week, 12).bound
    assert 0.8 * plan.objective <= bound <= plan.objective + 1e-6


def test_better_than_each_job_alone_in_a_busy_week() -> None:
    week = random_week(12, 1, days=28)
    single = alone(week, FreeIndex(week_resources(week)))
    assert bounded(week, 6).bound > single.total


def test_never_below_what_is_known() -> None:
    assert bounded(random_week(3, 1), 1, known=1e9).bound == 1e9


def test_same_seed_same_bound() -> None:
    week = random_week(6, 2)
    one, two = (bounded(week, 3, seed=5) for _ in range(2))
    assert one.bound == two.bound
    assert (one.prices == two.prices).all()


def test_grain_divides_every_objective() -> None:
    week = random_week(3, 1)
    assert grain_of(week) == 1
    half = replace(week, objective=Objective(tardiness=3, flow=0.5, move=2.5))
    assert grain_of(half) == 0.5
    assert grain_of(replace(week, objective=Objective(flow=0.1))) is None


def test_a_model_that_is_told_its_bound_still_has_its_optimum() -> None:
    week = random_week(2, 7, days=14)
    draft, _ = insert_all(week, [job.id for job in week.jobs])
    empty = FreeIndex(week_resources(week))
    values: list[float] = []
    for told in (False, True):
        model = WeekModel(draft, [job.id for job in week.jobs], empty)
        if told:
            model.at_least(values[0])
        solver = solver_for(Limits(seconds=60))
        assert solver.solve(model.layer.model) == cp_model.OPTIMAL
        values.append(model.in_points(solver.objective_value))
    assert values[0] == values[1]
