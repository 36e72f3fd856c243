"""The proven optimum of tiny weeks is the best of all placements, tried one by one."""

import random
import time
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations, product

import pytest

from scheduling.core.check import check_operation, check_plan, score
from scheduling.core.problem import (
    STAY,
    CrewMember,
    Job,
    Mode,
    Operation,
    Placement,
    Plan,
    PlanStatus,
    Spot,
    Week,
)
from scheduling.core.solve import Effort, solve
from scheduling.core.worktime import WorkCalendar, common

LAST = 7


def tiny_week(seed: int) -> Week:
    rng = random.Random(seed)  # noqa: S311 -- test cases, not secrets
    jobs = []
    for name in "ABC":
        ops = [
            Operation(
                f"{name}1",
                "polish",
                (Mode(60 * rng.randint(1, 2)),),
                crew=1,
                skill="polish",
                pausable=rng.random() < 0.5,
            )
        ]
        if name == "A":
            ops.append(Operation("A2", "cure", (Mode(60),), lag_max=60))
        jobs.append(
            Job(name, tuple(ops), 60 * rng.randint(0, 2), 60 * rng.randint(2, 5), rng.randint(1, 3))
        )
    return Week(
        grid=60,
        horizon=60 * LAST,
        spots=(
            Spot("bay", frozenset({"polish"})),
            Spot("booth", frozenset({"polish", "cure"})),
            Spot("lot", park=True),
        ),
        crew=(
            CrewMember("T1", "day", frozenset({"polish"})),
            CrewMember("T2", "half", frozenset({"polish"})),
        ),
        calendars={"day": ((0, 180), (240, 420)), "half": ((0, 120), (300, 420))},
        opening=((0, 420),),
        jobs=tuple(jobs),
    )


def placements(week: Week, op: Operation) -> Iterator[Placement]:
    """Yield every placement of an operation that is right by itself."""
    windows = {one.id: week.calendars[one.calendar] for one in week.crew}
    spots = [spot.id for spot in week.spots if op.spot_cap in spot.caps]
    teams = list(combinations(windows, op.crew))
    bounds = range(0, week.horizon + 1, week.grid)
    modes = enumerate(op.modes)
    for (number, mode), spot, team, start, end in product(modes, spots, teams, bounds, bounds):
        if end <= start:
            continue
        calendars = [windows[one] for one in team]
        pieces = [(start, end)] if team else []
        for windows_of_one in calendars:
            pieces = common(WorkCalendar(windows_of_one).windows, pieces)
        placed = Placement(start, end, spot, team, number, tuple(pieces))
        if not check_operation(op, placed, calendars, week.opening, mode.dur):
            yield placed


def ways_of(week: Week, job: Job) -> Iterator[tuple[float, dict[str, Placement], tuple[str, ...]]]:
    """Yield every way to do one job, with its share of the objective."""
    known = {op.id: week.preferred[op.id] for op in job.ops if op.id in week.preferred}
    frozen = {op.id: week.frozen[op.id] for op in job.ops if op.id in week.frozen}
    alone = replace(week, jobs=(job,), preferred=known, frozen=frozen)
    for chosen in product(*(list(placements(week, op)) for op in job.ops)):
        placed = dict(zip((op.id for op in job.ops), chosen, strict=True))
        for wait in ((STAY,), ("lot",)) if len(job.ops) > 1 else ((),):
            plan = Plan(PlanStatus.FEASIBLE, placed, {job.id: wait})
            if not check_plan(alone, plan):
                yield score(alone, plan)[0], placed, wait


def best_by_brute_force(week: Week) -> float:
    """Try all combinations of ways, the cheapest first, until one has no clash."""
    every = [list(ways_of(week, job)) for job in week.jobs]
    for combination in sorted(product(*every), key=lambda ways: sum(way[0] for way in ways)):
        placed = {key: one for _, places, _ in combination for key, one in places.items()}
        waits = {job.id: way[2] for job, way in zip(week.jobs, combination, strict=True)}
        if not check_plan(week, Plan(PlanStatus.FEASIBLE, placed, waits)):
            return sum(way[0] for way in combination)
    raise AssertionError("no combination is valid")


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_optimum(seed: int) -> None:
    week = tiny_week(seed)
    plan = solve(week, Effort(seconds=20), clock=time.monotonic)
    assert plan.status is PlanStatus.OPTIMAL
    assert plan.objective == pytest.approx(best_by_brute_force(week))
