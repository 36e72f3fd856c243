"""A valid plan of two vehicles, changed in one way at a time: exactly that rule is named."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from scheduling.core.check import Rule, check_plan, score
from scheduling.core.check_said import check_file
from scheduling.core.problem import (
    CrewMember,
    Frozen,
    Job,
    Mode,
    Operation,
    Placement,
    Plan,
    PlanStatus,
    Spot,
    Week,
)

COAT: dict[str, Any] = {"spot_cap": "coat", "crew": 1, "skill": "coat"}
WEEK = Week(
    grid=15,
    horizon=1440,
    spots=(
        Spot("wash", frozenset({"wash"})),
        Spot("bay", frozenset({"polish", "coat"})),
        Spot("booth", frozenset({"coat", "cure"})),
        Spot("lot", park=True),
    ),
    crew=(
        CrewMember("T1", "day", frozenset({"wash", "polish"})),
        CrewMember("T2", "day", frozenset({"wash"})),
        CrewMember("T3", "late", frozenset({"coat"})),
    ),
    calendars={"day": ((480, 720), (750, 1020)), "late": ((600, 1080),)},
    opening=((480, 1080),),
    lamps=1,
    jobs=(
        Job(
            "A",
            (
                Operation("A1", "wash", (Mode(60),), 1, "wash", open_hours=True),
                Operation("A2", modes=(Mode(60),), **COAT),
                Operation("A3", modes=(Mode(45),), same_spot=True, lag_min=60, lag_max=240, **COAT),
                Operation("A4", "cure", (Mode(720), Mode(240, 1)), lag_max=30),
            ),
            release=480,
            due=990,
        ),
        Job(
            "B",
            (
                Operation("B1", "wash", (Mode(60),), 2, "wash"),
                Operation("B2", "polish", (Mode(30),), 1, "polish"),
            ),
            due=600,
        ),
    ),
)
BARE = Plan(
    PlanStatus.FEASIBLE,
    ops={
        "A1": Placement(480, 540, "wash", ("T1",), 0, ((480, 540),)),
        "A2": Placement(660, 720, "booth", ("T3",), 0, ((660, 720),)),
        "A3": Placement(780, 825, "booth", ("T3",), 0, ((780, 825),)),
        "A4": Placement(825, 1065, "booth", (), 1, ()),
        "B1": Placement(540, 600, "wash", ("T1", "T2"), 0, ((540, 600),)),
        "B2": Placement(600, 630, "bay", ("T1",), 0, ((600, 630),)),
    },
    waits={"A": ("lot", "stay", "stay"), "B": ("stay",)},
)
VALUE, PARTS = score(WEEK, BARE)
PLAN = replace(BARE, objective=VALUE, bound=VALUE - 1, parts=PARTS)
Change = Callable[[Week, Plan], tuple[Week, Plan]]


def op(name: str, **changed: Any) -> Change:
    """Place one operation differently."""
    return lambda week, plan: (
        week,
        replace(plan, ops={**plan.ops, name: replace(plan.ops[name], **changed)}),
    )


def plan_with(**changed: Any) -> Change:
    return lambda week, plan: (week, replace(plan, **changed))


def waits(job: str, *where: str) -> Change:
    return lambda week, plan: (week, replace(plan, waits={**plan.waits, job: where}))


def week_with(**changed: Any) -> Change:
    return lambda week, plan: (replace(week, **changed), plan)


def spot(name: str, **changed: Any) -> Change:
    spots = tuple(replace(s, **changed) if s.id == name else s for s in WEEK.spots)
    return week_with(spots=spots)


def both(*changes: Change) -> Change:
    def change(week: Week, plan: Plan) -> tuple[Week, Plan]:
        for one in changes:
            week, plan = one(week, plan)
        return week, plan

    return change


def job_a(**changed: Any) -> Change:
    return week_with(jobs=(replace(WEEK.jobs[0], **changed), WEEK.jobs[1]))


def frozen(name: str, **kept: Any) -> Change:
    return week_with(frozen={name: Frozen(**kept)})


def without(name: str) -> Change:
    return plan_with(ops={key: one for key, one in PLAN.ops.items() if key != name})


CASES: dict[str, tuple[Change, Rule, str]] = {
    "not placed": (without("B2"), Rule.SHAPE, "B2"),
    "unknown operation": (plan_with(ops={**PLAN.ops, "C": PLAN.ops["B1"]}), Rule.SHAPE, "C"),
    "unknown person": (op("A1", crew=("T9",)), Rule.SHAPE, "T9"),
    "unknown spot": (op("A1", spot="W9"), Rule.SHAPE, "W9"),
    "unknown mode": (op("A4", mode=2), Rule.SHAPE, "no mode 2"),
    "unknown job waits": (waits("C", "stay"), Rule.SHAPE, "not a job"),
    "a wait too few": (waits("A", "lot"), Rule.SHAPE, "1 waits for 3 gaps"),
    "waits in a bay": (waits("A", "bay", "stay", "stay"), Rule.SHAPE, "no parking spot"),
    "pieces wrong": (op("A1", pieces=((480, 525),)), Rule.WORK, "are not the work done"),
    "pieces overlap": (op("A1", pieces=((480, 525), (510, 540))), Rule.WORK, "overlap"),
    "pieces backwards": (op("A1", pieces=((480, 540), (540, 540))), Rule.WORK, "backwards"),
    "pieces of no work": (op("A4", pieces=((825, 1065),)), Rule.WORK, "no pieces"),
    "paused where it may not": (
        op("B2", start=705, end=765, pieces=((705, 720), (750, 765))),
        Rule.WORK,
        "may not pause",
    ),
    "crew off its windows": (
        both(
            week_with(calendars={**WEEK.calendars, "late": ((600, 675), (690, 1080))}),
            op("A2", pieces=((660, 675), (690, 720))),
        ),
        Rule.DURATION,
        "45 minutes of work",
    ),
    "crew too small": (op("B1", crew=("T1",)), Rule.CREW, "needs 2"),
    "no skill": (op("B2", crew=("T2",)), Rule.CREW, "lacks 'polish'"),
    "wrong mode": (op("A4", mode=0), Rule.DURATION, "lasts 240 minutes, not 720"),
    "spot cannot": (op("A4", spot="bay"), Rule.SPOT, "cannot do 'cure'"),
    "another spot": (op("A3", spot="bay"), Rule.SPOT, "may not leave booth"),
    "leaves between": (waits("A", "lot", "lot", "stay"), Rule.SPOT, "may not leave booth"),
    "minimum lag": (
        op("A3", start=765, end=810, pieces=((765, 810),)),
        Rule.LAG,
        "45 minutes after A2",
    ),
    "maximum lag": (op("A4", start=870, end=1110), Rule.LAG, "45 minutes after A3"),
    "release": (job_a(release=495), Rule.RELEASE, "released at 495"),
    "horizon": (week_with(horizon=1050), Rule.HORIZON, "ends at 1065"),
    "outside opening hours": (
        week_with(opening=((495, 1080),)),
        Rule.OPENING,
        "not inside one opening",
    ),
    "moved to parking while closed": (
        both(
            op("B2", start=645, end=675, pieces=((645, 675),)),
            waits("B", "lot"),
            spot("lot", capacity=2),
            week_with(opening=((480, 585),)),
        ),
        Rule.OPENING,
        "moves to lot at minute 600",
    ),
    "two vehicles where one may wait": (
        both(op("B2", start=630, end=660, pieces=((630, 660),)), waits("B", "lot")),
        Rule.CAPACITY,
        "2 in use at minute 600",
    ),
    "closed while waiting in the bay": (
        spot("booth", closures=((735, 750),)),
        Rule.CAPACITY,
        "at minute 735",
    ),
    "closed while waiting outside": (
        spot("lot", closures=((600, 615),)),
        Rule.CAPACITY,
        "at minute 600",
    ),
    "lamps": (week_with(lamps=0), Rule.CAPACITY, "room for 0"),
    "frozen start": (frozen("B2", start=615), Rule.FROZEN, "start is frozen at 615"),
    "frozen end": (frozen("B2", end=645), Rule.FROZEN, "end is frozen at 645"),
    "frozen spot": (frozen("A2", spot="bay"), Rule.FROZEN, "spot is frozen at 'bay'"),
    "frozen crew": (frozen("A1", crew=("T2",)), Rule.FROZEN, "crew is frozen"),
    "objective": (plan_with(objective=VALUE + 1), Rule.OBJECTIVE, "objective"),
    "late minutes": (
        plan_with(parts=replace(PARTS, weighted_tardiness_min=0)),
        Rule.OBJECTIVE,
        "weighted_tardiness_min",
    ),
    "flow": (plan_with(parts=replace(PARTS, flow_min=1)), Rule.OBJECTIVE, "flow_min"),
    "moves": (plan_with(parts=replace(PARTS, moves=9)), Rule.OBJECTIVE, "moves"),
    "bound too high": (plan_with(bound=VALUE + 1), Rule.OBJECTIVE, "bound"),
    "no bound": (plan_with(bound=None), Rule.OBJECTIVE, "bound"),
    "gap": (plan_with(said_gap=0.5), Rule.OBJECTIVE, "gap"),
    "not optimal": (plan_with(status=PlanStatus.OPTIMAL), Rule.OBJECTIVE, "says optimal"),
    "no schedule": (plan_with(status=PlanStatus.IMPOSSIBLE), Rule.SHAPE, "holds no schedule"),
}
# What no longer scores the same has its objective left out, so that one rule is broken alone.
SCORED = {"objective", "late minutes", "flow", "moves", "bound too high", "no bound", "gap",
          "not optimal", "no schedule"}  # fmt: skip


def test_the_plan_itself_is_valid() -> None:
    assert check_file(WEEK, PLAN) == []
    assert check_file(WEEK, replace(PLAN, said_gap=PLAN.gap)) == []
    proven = replace(PLAN, status=PlanStatus.OPTIMAL, bound=VALUE)
    assert check_file(WEEK, proven) == []


@pytest.mark.parametrize("name", CASES)
def test_exactly_the_broken_rule_is_named(name: str) -> None:
    change, rule, words = CASES[name]
    week, plan = change(WEEK, PLAN)
    if name in SCORED:
        found = check_file(week, plan)
    else:
        found = check_plan(week, replace(plan, objective=None))
    assert {violation.rule for violation in found} == {rule}
    assert words in " ".join(f"{one.subject} {one.text}" for one in found)
