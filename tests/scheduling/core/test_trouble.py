"""What a trouble hits, and what has begun stays."""

import time
from collections import Counter
from dataclasses import replace
from functools import cache

import pytest

from scheduling.core.check import check_plan
from scheduling.core.insertion import best_of_rules
from scheduling.core.problem import Plan, Week
from scheduling.core.replan import few_move, nobody_else_moves
from scheduling.core.solve import Effort
from scheduling.core.trouble import Away, Closed, FewerLamps, Longer, Trouble, assess
from scheduling.core.values import ProblemError
from tests.scheduling.core.weeks import random_week

EFFORT = Effort(seconds=30, rounds=1)


@cache
def planned(jobs: int = 12, seed: int = 3) -> tuple[Week, Plan]:
    week = random_week(jobs, seed)
    draft, _ = best_of_rules(week)
    assert draft is not None
    plan = draft.plan()
    told = tuple(replace(job, told=plan.ops[job.ops[-1].id].end) for job in week.jobs)
    return replace(week, jobs=told, objective=replace(week.objective, change=20)), plan


def middle(plan: Plan) -> int:
    """The morning of the day on which half of the work has begun."""
    starts = sorted(placed.start for placed in plan.ops.values())
    return starts[len(starts) // 2] // 1440 * 1440 + 480


def at_work(plan: Plan, start: int, end: int) -> str:
    """Whoever has the most stretches of work in a window."""
    working = Counter(
        one
        for placed in plan.ops.values()
        for one in placed.crew
        if any(a < end and b > start for a, b in placed.pieces)
    )
    return working.most_common(1)[0][0]


def jobs_of(week: Week, op_ids: set[str]) -> set[str]:
    return {job.id for job in week.jobs if any(op.id in op_ids for op in job.ops)}


def test_away_hits_whoever_has_that_person() -> None:
    week, plan = planned()
    now = middle(plan)
    person = at_work(plan, now, now + 2880)
    damage = assess(week, plan, [Away(person, now, now + 2880)], now=now)
    hers = {
        key
        for key, placed in plan.ops.items()
        if person in placed.crew and any(a < now + 2880 and b > now for a, b in placed.pieces)
    }
    assert set(damage.hit) == jobs_of(week, hers) != set()


def test_closed_bay_hits_whoever_stands_there() -> None:
    week, plan = planned()
    now = middle(plan)
    damage = assess(week, plan, [Closed("bay1", now, now + 2880)], now=now)
    there = {
        key
        for key, placed in plan.ops.items()
        if placed.spot == "bay1" and placed.start < now + 2880 and placed.end > now
    }
    assert set(damage.hit) >= jobs_of(week, there) != set()


def test_longer_hits_its_job_alone() -> None:
    week, plan = planned()
    op_id = next(key for key in plan.ops if key.endswith("cure"))
    damage = assess(week, plan, [Longer(op_id, 180)])
    assert set(damage.hit) == jobs_of(week, {op_id})


def test_without_a_lamp_whoever_needs_it_is_hit() -> None:
    week, plan = planned()
    ops = week.operations
    lit = {key for key, placed in plan.ops.items() if ops[key].modes[placed.mode].lamps}
    assert set(assess(week, plan, [FewerLamps()]).hit) == jobs_of(week, lit) != set()


def test_nothing_goes_wrong_nobody_is_hit() -> None:
    week, plan = planned()
    damage = assess(week, plan, [], now=middle(plan))
    assert damage.hit == ()
    mended = nobody_else_moves(damage, EFFORT, clock=time.monotonic)
    assert mended.proven
    assert mended.plan.objective == pytest.approx(damage.plan.objective)


@pytest.mark.parametrize("kind", ["away", "closed", "dark"])
def test_others_stay_begun_stays_and_nothing_moves_into_the_past(kind: str) -> None:
    week, plan = planned()
    now = middle(plan)
    troubles: dict[str, Trouble] = {
        "away": Away(at_work(plan, now, now + 2880), now, now + 2880),
        "closed": Closed("bay1", now, now + 2880),
        "dark": FewerLamps(),
    }
    damage = assess(week, plan, [troubles[kind]], now=now)
    first = nobody_else_moves(damage, EFFORT, clock=time.monotonic)
    second = few_move(damage, first, 2, EFFORT, clock=time.monotonic)
    assert damage.hit
    assert second.found
    for mended in (first, second):
        if not mended.found:
            continue
        assert check_plan(damage.week, mended.plan) == []
        for key, before in plan.ops.items():
            after = mended.plan.ops[key]
            if before.start < now:
                assert (before.start, before.spot, before.crew) == (
                    after.start,
                    after.spot,
                    after.crew,
                )
            else:
                assert after.start >= now
    if first.found:
        still = jobs_of(week, set(plan.ops)) - set(damage.hit)
        for job in week.jobs:
            if job.id in still:
                for op in job.ops:
                    assert first.plan.ops[op.id].start == plan.ops[op.id].start
        assert first.plan.objective is not None
        assert second.plan.objective is not None
        assert second.plan.objective <= first.plan.objective + 1e-6
    assert len(second.moved) <= 2


def test_impossible_says_why() -> None:
    week, plan = planned()
    damage = assess(week, plan, [Away("T2", 0, week.horizon), Away("T4", 0, week.horizon)])
    first = nobody_else_moves(damage, EFFORT, clock=time.monotonic)
    second = few_move(damage, first, 3, EFFORT, clock=time.monotonic)
    for mended in (first, second):
        assert not mended.found
        assert any("first layer" in text for text in mended.plan.reasons)


def test_same_answer_every_time() -> None:
    week, plan = planned()
    now = middle(plan)
    damage = assess(week, plan, [Away("T1", now, now + 2880)], now=now)
    answers = []
    for _ in range(2):
        first = nobody_else_moves(damage, EFFORT, clock=time.monotonic)
        answers.append(few_move(damage, first, 2, EFFORT, clock=time.monotonic).plan.ops)
    assert answers[0] == answers[1]


@pytest.mark.parametrize(
    ("trouble", "path"),
    [
        (Longer("nothing", 15), "op_id"),
        (Away("T9", 0, 60), "person"),
        (Away("T1", 60, 60), "end"),
        (Closed("attic", 0, 60), "spot"),
    ],
)
def test_trouble_with_what_is_not_there_is_refused(trouble: Trouble, path: str) -> None:
    week, plan = planned()
    with pytest.raises(ProblemError) as refused:
        assess(week, plan, [trouble])
    assert refused.value.path == path
