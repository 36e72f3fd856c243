"""A wrong bound never makes a week with a plan impossible, nor a plan proven."""

import pytest

from scheduling.core.bounds_prices import PriceBound
from scheduling.core.check import check_plan
from scheduling.core.effort import Effort
from scheduling.core.problem import PlanStatus
from scheduling.core.search import Search
from scheduling.core.solve import solve
from scheduling.core.weekmodel import WeekModel
from tests.scheduling.core.weeks import random_week

ABOVE_ALL = 1e9
"""More points than any plan within the horizon can cost: a model that is told it is empty."""


def still() -> float:
    return 0.0


@pytest.fixture
def search() -> Search:
    """Two jobs with the optimum found, but not yet proven."""
    found = Search(random_week(2, 1), Effort(seconds=20, rounds=1), still, None, None)
    found.insertion()
    found.whole(2, for_bound=False)
    assert found.optimal
    found.optimal, found.bound = False, 0.0
    return found


@pytest.mark.parametrize("factor", [1.5, ABOVE_ALL])
def test_the_whole_model_is_told_a_bound_above_the_plan(
    search: Search, factor: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    before, tell = search.standing(), WeekModel.at_least
    assert before is not None
    wrong = factor * before.objective
    monkeypatch.setattr(WeekModel, "at_least", lambda model, _points: tell(model, wrong))
    search.whole(2, for_bound=False)
    assert not search.impossible
    assert not search.optimal
    assert search.standing() == before
    assert search.bound <= before.objective


def test_a_bound_that_equals_the_plan_proves_it(search: Search) -> None:
    now = search.standing()
    assert now is not None
    search.lift(now.objective)
    assert search.over()
    search.lift(now.objective + 1)
    assert search.bound == now.objective


def test_a_model_is_empty_only_for_the_last_digits_of_its_bound(search: Search) -> None:
    now = search.standing()
    assert now is not None
    search.bound = now.objective * (1 + 1e-9)
    search._nothing_in_model()
    assert search.optimal
    assert not search.impossible


def test_prices_that_lie_leave_the_plan_feasible(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(PriceBound, "improve", lambda _self, _stop: ABOVE_ALL)
    week = random_week(13, 1)
    plan = solve(week, Effort(seconds=20, rounds=1), clock=still)
    assert plan.status is PlanStatus.FEASIBLE
    assert check_plan(week, plan) == []
    assert plan.bound is not None
    assert plan.objective is not None
    assert 0 < plan.bound < plan.objective
