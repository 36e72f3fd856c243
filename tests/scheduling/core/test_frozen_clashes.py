"""Frozen placements that cannot be kept make a week impossible, each by name."""

import time
from dataclasses import replace

import pytest

from scheduling.core.check import check_plan
from scheduling.core.problem import Frozen, Mode, PlanStatus
from scheduling.core.solve import Effort, solve
from tests.scheduling.core.weeks import random_week

# Two jobs: wash, panel wipe in the same spot, correction, ...; released at 495 and later.
WEEK = random_week(2, 1)
JOB = WEEK.jobs[0]
WASH = JOB.ops[0].id
WIPE = JOB.ops[1].id
CLASHES: list[tuple[str, dict[str, Frozen], str]] = [
    ("spot without the capability", {WASH: Frozen(spot="bay1")}, "bay1 cannot do “wash”"),
    ("nobody on it", {WASH: Frozen(crew=())}, "0 people are frozen, it needs 1"),
    ("too many on it", {WASH: Frozen(crew=("T1", "T4"))}, "2 people are frozen, it needs 1"),
    ("without the skill", {WASH: Frozen(crew=("T3",))}, "T3 lacks the skill “wash”"),
    ("before its release", {WASH: Frozen(start=0)}, "before the release"),
    ("ends before its release", {WASH: Frozen(end=60)}, "before the release"),
    ("beyond the horizon", {WASH: Frozen(start=WEEK.horizon)}, "after the horizon"),
    ("too short", {WASH: Frozen(start=2000 * 15, end=2000 * 15 + 30)}, "it needs 60"),
    (
        "two spots for one",
        {WASH: Frozen(spot="wash"), WIPE: Frozen(spot="lot")},
        "may not leave its spot between",
    ),
    (
        "out of order",
        {WASH: Frozen(end=6000), WIPE: Frozen(start=5985)},
        "-15 minutes between them",
    ),
]


@pytest.mark.parametrize(("frozen", "words"), [c[1:] for c in CLASHES], ids=[c[0] for c in CLASHES])
def test_clash_is_named(frozen: dict[str, Frozen], words: str) -> None:
    plan = solve(replace(WEEK, frozen=frozen), Effort(seconds=1), clock=time.monotonic)
    assert plan.status is PlanStatus.IMPOSSIBLE
    told = " ".join(plan.reasons)
    assert WASH in told
    assert words in told


def test_two_under_one_lamp_and_one_in_a_closed_bay() -> None:
    lit = replace(JOB.ops[0], modes=(Mode(60, 1),))
    jobs = (replace(JOB, ops=(lit, *JOB.ops[1:])), WEEK.jobs[1])
    at = Frozen(start=6240, end=6300)
    dark = replace(WEEK, lamps=0, jobs=jobs, frozen={WASH: at})
    closed = replace(WEEK.spots[0], closures=((6285, 6345),))
    shut = replace(WEEK, spots=(closed, *WEEK.spots[1:]), frozen={WASH: replace(at, spot="wash")})
    for week, words in ((dark, "lamps"), (shut, "wash")):
        plan = solve(week, Effort(seconds=1), clock=time.monotonic)
        assert plan.status is PlanStatus.IMPOSSIBLE
        assert words in plan.reasons[-1]


def test_what_can_be_kept_is_kept() -> None:
    frozen = {WASH: Frozen(spot="wash", crew=("T4",)), WIPE: Frozen(spot="wash")}
    week = replace(WEEK, frozen=frozen)
    plan = solve(week, Effort(seconds=1, rounds=1), clock=time.monotonic)
    assert plan.status in (PlanStatus.OPTIMAL, PlanStatus.FEASIBLE)
    assert check_plan(week, plan) == []
