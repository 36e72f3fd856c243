"""Both answers to trouble on tiny weeks are the best of all placements, tried one by one."""

import time
from dataclasses import replace
from itertools import product

import pytest

from scheduling.core.check import check_plan
from scheduling.core.problem import Plan, PlanStatus
from scheduling.core.replan import few_move, nobody_else_moves
from scheduling.core.solve import Effort, solve
from scheduling.core.trouble import Away, Closed, Damage, Longer, Trouble, assess
from tests.scheduling.core.test_solve_against_brute_force import tiny_week, ways_of

EFFORT = Effort(seconds=20, rounds=2)
TROUBLES: list[Trouble] = [Away("T1", 0, 180), Closed("booth", 60, 180), Longer("A1", 60)]


def damaged(seed: int, trouble: Trouble) -> Damage:
    week = tiny_week(seed)
    week = replace(
        week, horizon=600, opening=((0, 600),), objective=replace(week.objective, change=9)
    )
    plan = solve(week, Effort(seconds=20), clock=time.monotonic)
    ends = {job.id: plan.ops[job.ops[-1].id].end for job in week.jobs}
    jobs = tuple(replace(job, told=ends[job.id]) for job in week.jobs)
    return assess(replace(week, jobs=jobs), plan, [trouble])


def best_with(damage: Damage, most: int) -> float | None:
    """Try every combination of ways, the cheapest first, in which so many others moved."""
    week = damage.week
    every = []
    for job in week.jobs:
        there = {op.id: damage.plan.ops[op.id] for op in job.ops}
        every.append(
            [
                (cost, placed, waits, job.id not in damage.hit and placed != there)
                for cost, placed, waits in ways_of(week, job)
            ]
        )
    few = (ways for ways in product(*every) if sum(way[3] for way in ways) <= most)
    for ways in sorted(few, key=lambda ways: sum(way[0] for way in ways)):
        placed = {key: one for way in ways for key, one in way[1].items()}
        waits = {job.id: way[2] for job, way in zip(week.jobs, ways, strict=True)}
        if not check_plan(week, Plan(PlanStatus.FEASIBLE, placed, waits)):
            return sum(way[0] for way in ways)
    return None


@pytest.mark.parametrize("trouble", TROUBLES, ids=lambda one: type(one).__name__)
@pytest.mark.parametrize("seed", [1, 2, 3, 5])
def test_best_of_all(seed: int, trouble: Trouble) -> None:
    damage = damaged(seed, trouble)
    first = nobody_else_moves(damage, EFFORT, clock=time.monotonic)
    assert (first.plan.objective if first.found else None) == pytest.approx(best_with(damage, 0))
    assert not first.moved
    for most in (1, 2):
        mended = few_move(damage, first, most, EFFORT, clock=time.monotonic)
        best = best_with(damage, most)
        assert len(mended.moved) <= most
        assert mended.found == (best is not None)
        if mended.found:
            assert check_plan(damage.week, mended.plan) == []
            assert mended.proven
            assert mended.plan.objective == pytest.approx(best)
