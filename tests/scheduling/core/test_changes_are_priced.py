"""A change to what people already know costs points: scored, searched, proven, written, read."""

import json
import time
from dataclasses import replace

import pytest

from scheduling.core.check import check_plan, score
from scheduling.core.formats import read_week, week_to_data
from scheduling.core.problem import Frozen, PlanStatus, Week
from scheduling.core.solve import Effort, Progress, solve
from scheduling.core.values import ProblemError
from tests.scheduling.core.test_solve_against_brute_force import best_by_brute_force, tiny_week
from tests.scheduling.core.weeks import random_week


def told_week(seed: int, change: float) -> Week:
    """The tiny week, with two customers told a time and two operations that stand somewhere."""
    week = tiny_week(seed)
    jobs = tuple(
        replace(job, told=180 if job.id == "A" else 120 if job.id == "B" else None)
        for job in week.jobs
    )
    return replace(
        week,
        jobs=jobs,
        objective=replace(week.objective, change=change),
        preferred={"B1": Frozen(spot="booth"), "C1": Frozen(end=300, crew=("T2",))},
    )


@pytest.mark.parametrize("change", [3, 100])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_proven_optimum_is_the_best_of_all_placements(seed: int, change: float) -> None:
    week = told_week(seed, change)
    steps: list[Progress] = []
    plan = solve(week, Effort(seconds=20), clock=time.monotonic, progress=steps.append)
    best = best_by_brute_force(week)
    assert check_plan(week, plan) == []
    assert plan.status is PlanStatus.OPTIMAL
    assert plan.objective == pytest.approx(best)
    assert all(step.bound <= best + 1e-6 for step in steps)


def test_one_job_is_one_change_however_much_of_it_moves() -> None:
    week = replace(random_week(2, 1), objective=replace(random_week(1, 1).objective, change=7))
    plan = solve(week, Effort(seconds=20, rounds=1), clock=time.monotonic)
    first = week.jobs[0]
    end = plan.ops[first.ops[-1].id].end
    elsewhere = {op.id: Frozen(start=0) for op in first.ops}
    before = score(week, plan)[0]
    for job, preferred, changes in (
        (replace(first, told=end), {}, 0),
        (replace(first, told=end - 15), {}, 1),
        (replace(first, told=end - 15), elsewhere, 1),
    ):
        known = replace(week, jobs=(job, week.jobs[1]), preferred=preferred)
        value, parts = score(known, plan)
        assert parts.changes == changes
        assert value == pytest.approx(before + 7 * changes)


def test_a_high_price_keeps_every_preferred_placement() -> None:
    week = random_week(6, 1)
    poor = solve(week, Effort(seconds=0), clock=time.monotonic)
    preferred = {
        key: Frozen(placed.start, placed.end, placed.spot, placed.crew)
        for key, placed in poor.ops.items()
    }
    dear = replace(week, preferred=preferred, objective=replace(week.objective, change=10_000))
    plan = solve(dear, Effort(seconds=20, rounds=1), clock=time.monotonic)
    assert plan.parts.changes == 0
    assert {key: one.start for key, one in plan.ops.items()} == {
        key: one.start for key, one in poor.ops.items()
    }


def test_written_only_where_given_and_read_back_the_same() -> None:
    plain = week_to_data(random_week(2, 1))
    assert "preferred" not in plain
    assert "change" not in plain["objective"]
    assert "told" not in plain["jobs"][0]
    week = told_week(1, 2.5)
    assert read_week(json.dumps(week_to_data(week))) == week


@pytest.mark.parametrize(
    ("wrong", "path"),
    [
        ({"preferred": {"Z1": Frozen()}}, "preferred.Z1"),
        ({"preferred": {"A1": Frozen(start=7)}}, "preferred.A1.start"),
        ({"preferred": {"A1": Frozen(spot="attic")}}, "preferred.A1.spot"),
    ],
)
def test_refused_with_its_path(wrong: dict[str, dict[str, Frozen]], path: str) -> None:
    with pytest.raises(ProblemError) as refused:
        replace(tiny_week(1), **wrong)  # type: ignore[arg-type]
    assert refused.value.path == path


def test_told_off_the_grid_is_refused() -> None:
    week = tiny_week(1)
    with pytest.raises(ProblemError) as refused:
        replace(week, jobs=(replace(week.jobs[0], told=61), *week.jobs[1:]))
    assert refused.value.path == "jobs[0].told"
