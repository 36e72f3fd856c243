"""Solving whole weeks: always valid, never worse than given, repeatable, impossible by name."""

import time
from dataclasses import replace
from itertools import permutations

import pytest

from scheduling.core.check import check_plan
from scheduling.core.insertion import RULES, insert_all
from scheduling.core.problem import Frozen, Mode, Plan, PlanStatus, Week
from scheduling.core.solve import Effort, Progress, solve
from tests.scheduling.core.weeks import random_week


def solved(week: Week, rounds: int = 1, seed: int = 1, start: Plan | None = None) -> Plan:
    effort = Effort(seconds=20, seed=seed, rounds=rounds)
    return solve(week, effort, clock=time.monotonic, start=start)


@pytest.mark.parametrize("seed", [1, 2])
def test_small_week_is_solved_to_a_proven_optimum(seed: int) -> None:
    week = random_week(3, seed)
    plan = solved(week)
    assert check_plan(week, plan) == []
    assert plan.status is PlanStatus.OPTIMAL
    assert plan.gap == 0
    for order in permutations(job.id for job in week.jobs):
        draft, _ = insert_all(week, order)
        assert plan.objective is not None
        assert plan.objective <= draft.objective + 1e-6


def test_improves_on_every_rule_and_tells_its_progress() -> None:
    week = random_week(5, 3)
    told: list[Progress] = []
    effort = Effort(seconds=1)
    plan = solve(week, effort, clock=time.monotonic, progress=told.append)
    rules = [insert_all(week, rule(week))[0].objective for rule in RULES.values()]
    assert check_plan(week, plan) == []
    assert plan.objective is not None
    assert plan.objective <= min(rules)
    bests = [one.best for one in told if one.best is not None]
    assert bests == sorted(bests, reverse=True)
    assert all(one.bound <= bests[-1] + 1e-6 for one in told)


def test_never_worse_than_the_plan_it_was_given() -> None:
    week = random_week(3, 4)
    good = solved(week)
    again = solve(week, Effort(seconds=0.0), clock=time.monotonic, start=good)
    assert check_plan(week, again) == []
    assert again.objective is not None
    assert good.objective is not None
    assert again.objective <= good.objective


def test_no_time_at_all_still_gives_a_plan() -> None:
    week = random_week(10, 1)
    plan = solve(week, Effort(seconds=0.0), clock=time.monotonic)
    assert plan.status is PlanStatus.FEASIBLE
    assert check_plan(week, plan) == []


def test_stops_when_told() -> None:
    week = random_week(6, 1)
    plan = solve(week, Effort(seconds=60), clock=time.monotonic, stop=lambda: True)
    assert plan.seconds < 10
    assert check_plan(week, plan) == []


def test_frozen_is_kept() -> None:
    week = random_week(3, 2)
    before = solved(week)
    op_id = week.jobs[0].ops[0].id
    kept = before.ops[op_id]
    later = Frozen(start=kept.start, end=kept.end, spot=kept.spot, crew=kept.crew)
    frozen = replace(week, frozen={op_id: later})
    plan = solved(frozen)
    assert check_plan(frozen, plan) == []
    assert plan.ops[op_id].start == kept.start


def test_clash_of_frozen_placements_is_named() -> None:
    week = random_week(2, 1)
    ops = [job.ops[0].id for job in week.jobs]
    frozen = {op_id: Frozen(start=480, end=540, spot="wash") for op_id in ops}
    plan = solved(replace(week, frozen=frozen))
    assert plan.status is PlanStatus.IMPOSSIBLE
    assert "wash" in plan.reasons[0]


def test_impossible_names_the_operation() -> None:
    week = random_week(2, 1)
    wash, *rest = week.jobs[0].ops
    long = replace(wash, modes=(Mode(1200),))
    jobs = (replace(week.jobs[0], ops=(long, *rest)), week.jobs[1])
    plan = solved(replace(week, jobs=jobs))
    assert plan.status is PlanStatus.IMPOSSIBLE
    assert wash.id in plan.reasons[0]


def test_same_seed_same_plan() -> None:
    week = random_week(4, 5)
    one, two = solved(week, seed=3), solved(week, seed=3)
    assert one.ops == two.ops
    assert one.objective == two.objective


def test_week_without_jobs() -> None:
    assert solved(replace(random_week(1, 1), jobs=())).status is PlanStatus.OPTIMAL
