"""Textbook scheduling problems, solved to their known optimum through the week format.

Machines are spots, jobs run unattended, and there is parking for all, so that nobody blocks.
"""

import json
import time

import pytest

from scheduling.core.check import check_plan
from scheduling.core.formats import read_week, week_to_data
from scheduling.core.problem import (
    CrewMember,
    Job,
    Mode,
    Objective,
    Operation,
    Plan,
    PlanStatus,
    Spot,
    Week,
)
from scheduling.core.solve import Effort, solve
from tests.outside.job_shops import CLASSIC, Steps


def shop(
    jobs: list[Steps],
    objective: Objective,
    due: list[int] | None = None,
    weights: list[int] | None = None,
    *,
    by_people: bool = False,
) -> Week:
    """Return machines (spots or people) and jobs as a week, read back from its file."""
    last = sum(minutes for steps in jobs for _, minutes in steps)
    machines = {machine for steps in jobs for machine, _ in steps}
    bays = tuple(Spot(f"M{one}", frozenset({f"m{one}"})) for one in sorted(machines))
    if by_people:
        bays = (Spot("hall", frozenset(f"m{one}" for one in machines), capacity=len(jobs)),)
    week = Week(
        grid=1,
        horizon=last,
        objective=objective,
        opening=((0, last),),
        spots=(*bays, Spot("yard", capacity=len(jobs), park=True)),
        calendars={"always": ((0, last),)},
        crew=tuple(
            CrewMember(f"P{one}", "always", frozenset({f"m{one}"}))
            for one in (sorted(machines) if by_people else ())
        ),
        jobs=tuple(
            Job(
                f"J{number}",
                tuple(
                    Operation(
                        f"J{number}.{k}",
                        f"m{machine}",
                        (Mode(minutes),),
                        crew=int(by_people),
                        skill=f"m{machine}" if by_people else None,
                    )
                    for k, (machine, minutes) in enumerate(steps)
                ),
                due=due[number] if due else last,
                weight=weights[number] if weights else 1,
            )
            for number, steps in enumerate(jobs)
        ),
    )
    return read_week(json.dumps(week_to_data(week)))


def optimum(week: Week, workers: int = 1) -> Plan:
    plan = solve(week, Effort(seconds=60, workers=workers), clock=time.monotonic)
    assert plan.status is PlanStatus.OPTIMAL
    assert check_plan(week, plan) == []
    return plan


MAKESPAN = Objective(tardiness=0, flow=0, move=0, per=1, makespan=1)


@pytest.mark.parametrize("name", list(CLASSIC))
def test_classic_job_shop(name: str) -> None:
    jobs, shortest = CLASSIC[name]
    assert optimum(shop(jobs, MAKESPAN)).objective == shortest


def test_classic_job_shop_of_people_and_with_several_workers() -> None:
    """Each machine a person, and one bay for each job, is the same problem."""
    jobs, shortest = CLASSIC["la04"]
    week = shop(jobs, MAKESPAN, by_people=True)
    assert optimum(week, workers=2).objective == shortest


@pytest.mark.parametrize(
    ("times", "makespan"),
    [
        # An operations-research course page on printing and binding seven books: 460.
        ([(20, 25), (90, 60), (80, 75), (20, 30), (120, 90), (15, 35), (65, 50)], 460),
        # Krajewski et al., Operations Management: five motors, 65.
        ([(12, 22), (4, 5), (5, 3), (15, 16), (10, 8)], 65),
        # Operations and Supply Chain Management, 14th edition, problem 8: 7.
        ([(3, 1), (2, 2), (1, 3)], 7),
    ],
)
def test_johnsons_rule(times: list[tuple[int, int]], makespan: int) -> None:
    jobs = [[(0, first), (1, second)] for first, second in times]
    assert optimum(shop(jobs, MAKESPAN)).objective == makespan


@pytest.mark.parametrize(
    ("times", "weights", "total"),
    [
        # J. Kleinberg and E. Tardos, Algorithm Design, exercise 4.13.
        ([1, 3], [10, 2], 18),
        # Smith's rule (order 4-2-1-3-5); all 120 orders tried.
        ([3, 1, 4, 2, 5], [4, 2, 3, 5, 1], 85),
    ],
)
def test_smiths_rule(times: list[int], weights: list[int], total: int) -> None:
    """Due at zero, weighted tardiness is the weighted sum of completion times."""
    jobs = [[(0, minutes)] for minutes in times]
    goal = Objective(tardiness=1, flow=0, move=0, per=1)
    week = shop(jobs, goal, due=[0] * len(jobs), weights=weights)
    assert optimum(week).objective == total


def test_weighted_tardiness_on_one_machine() -> None:
    """Four jobs in the manner of Pinedo, Scheduling, chapter 3 (data from memory).

    67 is the best of all 24 orders, 1-2-4-3.
    """
    jobs = [[(0, minutes)] for minutes in (12, 8, 15, 9)]
    goal = Objective(tardiness=1, flow=0, move=0, per=1)
    assert optimum(shop(jobs, goal, due=[16, 26, 25, 27], weights=[4, 5, 3, 5])).objective == 67
