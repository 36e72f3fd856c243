"""A week that cannot be done says which operation, lag, frozen placement or horizon is to blame."""

import time
from dataclasses import replace

import pytest

from scheduling.core.problem import (
    CrewMember,
    Frozen,
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

POLISH = Operation("A1", "polish", (Mode(120),), crew=1, skill="polish")
CURE = Operation("A2", "cure", (Mode(60),))
WEEK = Week(
    grid=60,
    horizon=1440,
    spots=(
        Spot("bay", frozenset({"polish"})),
        Spot("booth", frozenset({"cure"}), closures=((600, 1200),)),
        Spot("lot", park=True, capacity=4),
    ),
    crew=(CrewMember("T1", "day", frozenset({"polish"})),),
    calendars={"day": ((480, 720), (780, 960))},
    opening=((480, 1020),),
    jobs=(Job("A", (POLISH, CURE)),),
)


def solved(week: Week) -> Plan:
    plan = solve(week, Effort(seconds=20), clock=time.monotonic)
    assert plan.ops == {}
    assert plan.status is PlanStatus.IMPOSSIBLE
    return plan


@pytest.mark.parametrize(
    ("ops", "said"),
    [
        ((replace(POLISH, spot_cap="sand"), CURE), "A1: no bay can do “sand”"),
        ((replace(POLISH, skill="sand"), CURE), "A1: needs 1 with the skill “sand”, there are 0"),
        ((replace(POLISH, crew=2), CURE), "A1: needs 2 with the skill “polish”, there are 1"),
        ((POLISH, replace(CURE, modes=(Mode(60, lamps=1),))), "A2: needs more lamps"),
        ((replace(POLISH, modes=(Mode(300),)), CURE), "A1: takes 300 minutes and may not pause"),
        (
            (replace(POLISH, modes=(Mode(480),), pausable=True), CURE),
            "A1: takes 480 minutes in all",
        ),
        (
            (POLISH, replace(CURE, modes=(Mode(600),), open_hours=True)),
            "A2: takes 600 minutes, the longest opening has 540",
        ),
        ((POLISH, replace(CURE, lag_max=60)), "A2: cannot start within 60 minutes after A1"),
        ((POLISH, replace(CURE, modes=(Mode(660),))), "A2: cannot be done before the calendar"),
    ],
)
def test_operation_is_named(ops: tuple[Operation, ...], said: str) -> None:
    reasons = solved(replace(WEEK, jobs=(Job("A", ops),))).reasons
    assert any(reason.startswith(said) for reason in reasons), reasons


def test_frozen_holds_that_overlap_are_named() -> None:
    jobs = (Job("A", (POLISH,)), Job("B", (replace(POLISH, id="B1"),)))
    kept = {"A1": Frozen(480, 600, "bay"), "B1": Frozen(540, 660, "bay")}
    reason = solved(replace(WEEK, jobs=jobs, frozen=kept)).reasons[0]
    assert "bay" in reason
    assert "B1" in reason


@pytest.mark.parametrize(
    ("kept", "said"),
    [
        ({"A1": Frozen(start=660)}, "A1: its frozen placement (start 660) fits no opening"),
        ({"A2": Frozen(start=720)}, "A2: its frozen placement (start 720) fits no opening"),
        ({"A2": Frozen(start=540)}, "A2: its frozen placement (start 540) fits no opening"),
    ],
)
def test_frozen_start_that_no_calendar_allows_is_named(kept: dict[str, Frozen], said: str) -> None:
    """Across the break; in the closure; before its own first step can be done."""
    assert solved(replace(WEEK, frozen=kept)).reasons[0].startswith(said)


def test_too_little_time_of_people_is_named() -> None:
    jobs = tuple(Job(name, (replace(POLISH, id=f"{name}1"),)) for name in "ABCD")
    reason = solved(replace(WEEK, jobs=jobs)).reasons[0]
    assert reason.startswith("the people with “polish” have 420 minutes before the horizon")
    assert "480" in reason


def test_too_little_time_of_bays_is_named() -> None:
    jobs = tuple(Job(name, (replace(CURE, id=name, modes=(Mode(540),)),)) for name in "AB")
    reason = solved(replace(WEEK, jobs=jobs)).reasons[0]
    assert reason == "the bays for “cure” have 840 minutes before the horizon, the jobs need 1080"


@pytest.mark.parametrize("goal", [Objective(), Objective(0, 0, 0, 1, makespan=1)])
def test_horizon_too_short_for_all_together_is_told(goal: Objective) -> None:
    """There are minutes enough, but the second stretch without a closure is too short."""
    jobs = tuple(Job(name, (replace(CURE, id=name, modes=(Mode(420),)),)) for name in "AB")
    booth = replace(WEEK.spots[1], closures=((540, 1080),))
    week = replace(WEEK, jobs=jobs, objective=goal, spots=(booth, WEEK.spots[2]))
    reason = solved(week).reasons[0]
    assert reason.startswith("each job can be done alone, but not all of them together")
    assert "1440" in reason
