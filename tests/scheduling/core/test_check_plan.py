"""The validator: passes plans made by insertion, and names each rule that is broken."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.core.check import Rule, check_plan, score
from scheduling.core.insertion import RULES, insert_all
from scheduling.core.problem import (
    CrewMember,
    Frozen,
    Job,
    Mode,
    Operation,
    Parts,
    Placement,
    Plan,
    PlanStatus,
    Spot,
    Week,
)
from tests.scheduling.core.weeks import random_week


@given(st.integers(0, 10_000), st.integers(1, 8), st.sampled_from(sorted(RULES)))
def test_insertion_passes(seed: int, jobs: int, rule: str) -> None:
    week = random_week(jobs, seed)
    draft, failed = insert_all(week, RULES[rule](week))
    assert failed or check_plan(week, draft.plan()) == []


WEEK = Week(
    grid=15,
    horizon=2880,
    spots=(
        Spot("wash", frozenset({"wash"})),
        Spot("bay", frozenset({"polish"}), closures=((1440, 1920),)),
        Spot("lot", park=True),
    ),
    crew=(
        CrewMember("T1", "day", frozenset({"wash", "polish"})),
        CrewMember("T2", "day", frozenset({"wash"})),
    ),
    calendars={"day": ((480, 720), (750, 1020), (1920, 2160))},
    opening=((480, 1080), (1920, 2520)),
    lamps=1,
    jobs=(
        Job(
            "A",
            (
                Operation("A1", "wash", (Mode(60),), 1, "wash", open_hours=True),
                Operation("A2", "polish", (Mode(300), Mode(240, 1)), 1, "polish", pausable=True),
            ),
            release=480,
            due=780,
            weight=2,
        ),
        Job("B", (Operation("B1", "wash", (Mode(60),), 1, "wash"),), due=600),
    ),
    frozen={"B1": Frozen(spot="wash")},
)
PLAN = Plan(
    PlanStatus.FEASIBLE,
    ops={
        "A1": Placement(480, 540, "wash", ("T1",), 0, ((480, 540),)),
        "A2": Placement(540, 870, "bay", ("T1",), 0, ((540, 720), (750, 870))),
        "B1": Placement(540, 600, "wash", ("T2",), 0, ((540, 600),)),
    },
    waits={"A": ("stay",), "B": ()},
)


def test_by_hand() -> None:
    assert check_plan(WEEK, PLAN) == []
    # Late: A by 90 minutes at weight 2. Flow: 870 - 480, and 600. One move.
    value, parts = score(WEEK, PLAN)
    assert parts == Parts(weighted_tardiness_min=180, flow_min=990, moves=1)
    assert value == (20 * 180 + 990) / 15 + 2


Change = Callable[[Plan], Plan]


def op(name: str, **fields: Any) -> Change:
    return lambda plan: replace(plan, ops={**plan.ops, name: replace(plan.ops[name], **fields)})


def waits(*where: str) -> Change:
    return lambda plan: replace(plan, waits={**plan.waits, "A": where})


BROKEN: list[tuple[str, Change, Rule]] = [
    ("unknown spot", op("A1", spot="nowhere"), Rule.SHAPE),
    ("no such mode", op("A1", mode=4), Rule.SHAPE),
    ("wait left out", waits(), Rule.SHAPE),
    ("waits in a bay", waits("bay"), Rule.SHAPE),
    ("spot without the capability", op("A1", spot="bay"), Rule.SPOT),
    ("nobody on it", op("A1", crew=()), Rule.CREW),
    ("crew without the skill", op("A2", crew=("T2",)), Rule.CREW),
    ("too short", op("A2", end=855, pieces=((540, 720), (750, 855))), Rule.DURATION),
    ("ends in the break", op("A2", start=480, end=735), Rule.DURATION),
    ("pieces are not the work", op("A2", pieces=((540, 870),)), Rule.WORK),
    ("work outside hours", op("B1", start=1020, end=1080, pieces=()), Rule.DURATION),
    ("off the grid", op("B1", start=541, end=601, pieces=((541, 601),)), Rule.GRID),
    ("before its release", op("A1", start=420, end=480, pieces=()), Rule.RELEASE),
    ("starts before the step before ends", op("A1", start=600, end=660), Rule.LAG),
    ("two in one bay", op("B1", start=495, end=555, pieces=((495, 555),)), Rule.CAPACITY),
    ("one person twice", op("B1", crew=("T1",)), Rule.CAPACITY),
    ("wrong objective", lambda plan: replace(plan, objective=1.0), Rule.OBJECTIVE),
    (
        "bound above the objective",
        lambda plan: replace(plan, objective=308, bound=309, parts=Parts(180, 990, 1)),
        Rule.OBJECTIVE,
    ),
]


@pytest.mark.parametrize(("change", "rule"), [b[1:] for b in BROKEN], ids=[b[0] for b in BROKEN])
def test_broken_rule_is_named(change: Change, rule: Rule) -> None:
    assert rule in [violation.rule for violation in check_plan(WEEK, change(PLAN))]


def test_lamp_closure_and_frozen() -> None:
    lit = op("A2", mode=1, end=810, pieces=((540, 720), (750, 810)))(PLAN)
    assert check_plan(WEEK, lit) == []
    assert {v.rule for v in check_plan(replace(WEEK, lamps=0), lit)} == {Rule.CAPACITY}
    closed = replace(WEEK.spots[1], closures=((600, 660),))
    shut = replace(WEEK, spots=(WEEK.spots[0], closed, WEEK.spots[2]))
    assert {v.rule for v in check_plan(shut, PLAN)} == {Rule.CAPACITY}
    frozen = replace(WEEK, frozen={"B1": Frozen(start=600), "A1": Frozen(crew=("T2",))})
    assert [v.rule for v in check_plan(frozen, PLAN)] == [Rule.FROZEN, Rule.FROZEN]


def test_move_to_parking_only_in_opening_hours() -> None:
    away = op("A2", start=600, end=930, pieces=((600, 720), (750, 930)))(waits("lot")(PLAN))
    wash, polish = WEEK.jobs[0].ops
    anytime = replace(WEEK.jobs[0], ops=(replace(wash, open_hours=False), polish))
    # The move is at 540: the last minute of the first opening, outside of the second one.
    for opening, rules in (((480, 540), set()), ((480, 525), {Rule.OPENING})):
        week = replace(WEEK, opening=(opening,), jobs=(anytime, WEEK.jobs[1]))
        assert {v.rule for v in check_plan(week, away)} == rules
