"""The cheapest way of a job under prices is the cheapest of all its ways, tried one by one."""

import random

import numpy as np
import pytest

from scheduling.core.bounds_path import JobPaths
from scheduling.core.bounds_rows import Floats, Rows
from scheduling.core.check import Use, stays
from scheduling.core.freeindex import FreeIndex
from scheduling.core.insertion import week_resources
from scheduling.core.problem import Job, Placement, Week
from tests.scheduling.core.test_solve_against_brute_force import tiny_week, ways_of
from tests.scheduling.core.weeks import random_week


def priced(rows: Rows, week: Week, seed: int) -> Floats:
    """Prices here and there, as a search would have them."""
    draw = np.random.default_rng(seed)
    some = draw.random(rows.capacity.shape) < draw.random()
    return draw.random(rows.capacity.shape) * 5 * some * rows.priced


def uses_of(job: Job, placed: dict[str, Placement], waits: tuple[str, ...]) -> list[Use]:
    """Everything a way holds, by the rules of the checker."""
    ops = [placed[op.id] for op in job.ops]
    found = [
        Use(f"spot {one.resource}", one.start, one.end, one.by) for one in stays(job.id, ops, waits)
    ]
    return found + [Use(f"crew {one}", p.start, p.end, job.id) for p in ops for one in p.crew]


def paid(rows: Rows, prices: Floats, uses: list[Use]) -> float:
    row_of = rows.spot_row | rows.person_row
    grid = rows.grid
    return sum(
        float(prices[row_of[use.resource], use.start // grid : use.end // grid].sum())
        for use in uses
    )


@pytest.mark.parametrize("seed", range(12))
def test_cheapest_of_all_ways(seed: int) -> None:
    week = tiny_week(seed)
    empty = FreeIndex(week_resources(week))
    rows = Rows(week, empty)
    prices = priced(rows, week, seed)
    for job in week.jobs:
        path = JobPaths(week, job, rows, empty).cheapest(prices)
        every = [
            cost + paid(rows, prices, uses_of(job, placed, waits))
            for cost, placed, waits in ways_of(week, job)
        ]
        assert path.cost == pytest.approx(min(every))


@pytest.mark.parametrize("seed", range(6))
def test_path_costs_what_it_holds(seed: int) -> None:
    week = random_week(4, seed)
    empty = FreeIndex(week_resources(week))
    rows = Rows(week, empty)
    prices = priced(rows, week, seed)
    for job in week.jobs:
        one = JobPaths(week, job, rows, empty)
        path = one.cheapest(prices)
        assert path.end is not None
        held = sum(units * float(prices[r, a:b].sum()) for r, a, b, units in path.holds)
        moves = (path.cost - held - float(one.worth[path.end - one.first])) / week.objective.move
        assert moves == pytest.approx(round(moves), abs=1e-6)
        assert 0 <= round(moves) <= 2 * len(job.ops)


def test_a_window_that_is_too_short_only_lowers_the_cost() -> None:
    week = random_week(4, random.Random(1).randrange(9))  # noqa: S311
    empty = FreeIndex(week_resources(week))
    rows = Rows(week, empty)
    prices = priced(rows, week, 1)
    for job in week.jobs:
        one = JobPaths(week, job, rows, empty)
        whole = one.cheapest(prices)
        assert whole.end is not None
        one.look_until(whole.end - 1)
        assert one.cheapest(prices).cost <= whole.cost
