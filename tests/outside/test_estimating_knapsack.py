"""The choice of plans against brute force and OR-Tools CP-SAT, two independent referees."""

from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from estimating.core.plan import Frontier, Item

# Our own instance of (value, cost), solved twice: by itertools and by CP-SAT.
GROUPS = [
    [(10, 4), (14, 6), (20, 9)],
    [(8, 3), (13, 5)],
    [(5, 2), (9, 4), (16, 7)],
]


def frontier(groups):
    return Frontier(
        [[Item(cost, value, mark) for mark, (value, cost) in enumerate(group)] for group in groups]
    )


@pytest.mark.parametrize(
    ("capacity", "value", "choice"),
    [
        (9, 23, (0, 0, 0)), (12, 28, (0, 1, 0)), (14, 34, (0, 0, 2)),
        (16, 39, (0, 1, 2)), (18, 43, (1, 1, 2)), (21, 49, (2, 1, 2)),
    ],
)  # fmt: skip
def test_known_instance(capacity, value, choice):
    found = frontier(GROUPS)
    point = found.most_within(capacity)
    assert point is not None
    assert (point[1], found.choice(point).marks) == (value, choice)


def test_known_instance_below_the_least_cost():
    assert frontier(GROUPS).most_within(8) is None


ITEM = st.tuples(st.integers(0, 40), st.integers(0, 30))
INSTANCE = st.lists(st.lists(ITEM, min_size=1, max_size=4), min_size=1, max_size=5)


@settings(max_examples=60, deadline=None)
@given(INSTANCE)
def test_the_whole_frontier_agrees_with_brute_force(groups):
    best: dict[Any, Any] = {}
    for picked in product(*groups):
        cost = sum(item[1] for item in picked)
        best[cost] = max(best.get(cost, -1), sum(item[0] for item in picked))
    expected, most = [], -1
    for cost in sorted(best):
        if best[cost] > most:
            most = best[cost]
            expected.append((cost, most))
    found = frontier(groups)
    assert found.points == expected
    for point in found.points:
        marks = found.choice(point).marks
        taken = [group[mark] for group, mark in zip(groups, marks, strict=True)]
        assert (sum(item[1] for item in taken), sum(item[0] for item in taken)) == point


def test_a_large_vehicle_agrees_with_cp_sat():
    groups = [
        [(0, 0)] + [(31 * level * (panel + 3) % 211 + 60 * level, 900 * level + 37 * panel * level)
                    for level in (1, 2, 3)]
        for panel in range(24)
    ]  # fmt: skip
    found = frontier(groups)
    for target in (500, 2500, 4500):
        model = cp_model.CpModel()
        cost, value = [], []
        for group in groups:
            picks = [model.new_bool_var("") for _ in group]
            model.add_exactly_one(picks)
            value += [pick * item[0] for pick, item in zip(picks, group, strict=True)]
            cost += [pick * item[1] for pick, item in zip(picks, group, strict=True)]
        model.add(sum(value) >= target)
        model.minimize(sum(cost))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        assert solver.solve(model) == cp_model.OPTIMAL
        point = found.cheapest_reaching(target)
        assert point is not None
        assert point[0] == round(solver.objective_value)
