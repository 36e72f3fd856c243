"""Projects with minimum and maximum lags on the layer beneath the week; by hand, so tiny.

Whole published sets run in ``bench_projects``, where a folder of them is named.
"""

import os
from pathlib import Path

import pytest

from scheduling.core.cpmodel import Limits
from scheduling.core.problem import PlanStatus
from scheduling.core.project import Activity, ProjectAnswer, StartLag, shortest_project
from tests.bench.bench_projects import agrees, instances, read

TWO = [Activity(3, (1,)), Activity(3, (1,))]


def solved(
    lags: list[StartLag], units: int = 1, activities: list[Activity] | None = None
) -> ProjectAnswer:
    return shortest_project(activities or TWO, lags, [units], Limits(5))


def test_one_after_the_other_or_side_by_side() -> None:
    assert solved([], units=1).makespan == 6
    assert solved([], units=2).makespan == 3


def test_lags_stretch_a_project() -> None:
    answer = solved([StartLag(0, 1, 5), StartLag(1, 0, -7)], units=2)
    assert (answer.makespan, answer.starts) == (8, (0, 5))


def test_maximum_lags_that_resources_break_are_named() -> None:
    answer = solved([StartLag(0, 1, -2), StartLag(1, 0, -2)])
    assert answer.status is PlanStatus.IMPOSSIBLE
    assert "1 at most 2 after 0" in answer.reasons[0]
    assert "0 at most 2 after 1" in answer.reasons[0]


def test_ring_of_lags_is_named_with_what_it_asks_too_much() -> None:
    three = [*TWO, Activity(1, (0,))]
    lags = [StartLag(2, 0, 1), StartLag(0, 1, 5), StartLag(1, 0, -3)]
    answer = solved(lags, units=2, activities=three)
    assert answer.status is PlanStatus.IMPOSSIBLE
    assert "2 too much" in answer.reasons[0]
    assert "1 at least 5 after 0" in answer.reasons[0]
    assert "1 at most 3 after 0" in answer.reasons[0]
    assert "after 2" not in answer.reasons[0]


def test_units_that_are_not_there_are_named() -> None:
    answer = solved([], activities=[Activity(2, (3,))])
    assert answer.reasons == ("activity 0 needs 3 of resource 0, there are 1",)


def test_published_instances_of_ten_activities() -> None:
    """Schwindt's generator ProGen/max; optima as published with the sets."""
    folder = os.environ.get("HALFMIL_RCPSP_MAX")
    if not folder:
        pytest.skip("HALFMIL_RCPSP_MAX names no folder of published projects")
    for path, published in instances(Path(folder) / "ubo10"):
        answer = shortest_project(*read(path), Limits(10))
        assert agrees(answer, published), path.name
