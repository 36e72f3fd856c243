"""Trouble in a week of 40 jobs: how fast nobody else moves, what each moved vehicle buys."""

from __future__ import annotations

import time
from dataclasses import replace
from statistics import median

from scheduling.core.check import check_plan
from scheduling.core.insertion import best_of_rules
from scheduling.core.problem import Plan, Week
from scheduling.core.replan import Mended, few_move, nobody_else_moves
from scheduling.core.solve import Effort
from scheduling.core.trouble import Away, Closed, Damage, Longer, Trouble, assess
from tests.bench.report import Report
from tests.scheduling.core.weeks import random_week

DAY = 1440
JOBS = 40
SEEDS = (1, 2, 3)
SHARES = (0.3, 0.6)
"""Trouble comes on the morning by which so much of the work has begun."""
CHANGE_POINTS = 20
ROUNDS = 1
EFFORT = Effort(seconds=60, rounds=ROUNDS)


def damages() -> list[Damage]:
    """Return the troubles: somebody away, a bay closed, work that takes two hours more."""
    found = []
    for seed in SEEDS:
        week, plan = _planned(seed)
        starts = sorted(placed.start for placed in plan.ops.values())
        for share in SHARES:
            now = starts[int(len(starts) * share)] // DAY * DAY + 480
            late = min(
                (placed.start, key)
                for key, placed in plan.ops.items()
                if placed.start >= now and placed.crew
            )[1]
            troubles: list[Trouble] = [
                Away(_busiest(plan, now), now, now + DAY),
                Closed("bay1", now, now + DAY),
                Longer(late, 120),
            ]
            found += [assess(week, plan, [trouble], now=now) for trouble in troubles]
    return [damage for damage in found if damage.hit]


def _planned(seed: int) -> tuple[Week, Plan]:
    week = random_week(JOBS, seed)
    draft, _ = best_of_rules(week)
    assert draft is not None
    plan = draft.plan()
    jobs = tuple(replace(job, told=plan.ops[job.ops[-1].id].end) for job in week.jobs)
    priced = replace(week.objective, change=CHANGE_POINTS)
    return replace(week, jobs=jobs, objective=priced), plan


def _busiest(plan: Plan, now: int) -> str:
    working = [
        person
        for placed in plan.ops.values()
        if placed.start < now + DAY and placed.end > now
        for person in placed.crew
    ]
    return max(sorted(set(working)), key=working.count) if working else "T1"


def run(report: Report) -> None:
    """Measure; seconds are of this process alone."""
    seconds, proven, impossible = [], 0, 0
    extra: dict[int, list[float]] = {0: [], 1: [], 2: [], 3: []}
    mended_by: dict[int, int] = dict.fromkeys((1, 2, 3), 0)
    all_damages = damages()
    for damage in all_damages:
        began = time.process_time()
        first = nobody_else_moves(damage, EFFORT, clock=time.monotonic)
        seconds.append(time.process_time() - began)
        proven += first.proven or first.plan.status == "impossible"
        impossible += not first.found
        if first.found:
            extra[0].append(_extra(damage, first))
        for most in (1, 2, 3):
            mended = few_move(damage, first, most, EFFORT, clock=time.monotonic)
            if not mended.found:
                continue
            assert check_plan(damage.week, mended.plan) == []
            assert len(mended.moved) <= most
            if first.found:
                extra[most].append(_extra(damage, mended))
            else:
                mended_by[most] += 1
    _say(report, seconds, proven, impossible, extra, mended_by)


def _say(
    report: Report,
    seconds: list[float],
    proven: int,
    impossible: int,
    extra: dict[int, list[float]],
    mended_by: dict[int, int],
) -> None:
    count = len(seconds)
    cases = f"{count} troubles in weeks of {JOBS} jobs, processor time"
    report.figure("replan, nobody else moves: median", median(seconds), "s", cases, target=0.5)
    report.figure("replan, nobody else moves: worst", max(seconds), "s", cases, target=0.5)
    report.note(f"  answered with a proof: {proven} of {count}; {impossible} proven impossible")
    for most, values in extra.items():
        low, middle, high = _quartiles(values)
        name = "nobody else moved" if not most else f"at most {most} moved"
        ratio = sum(values) / (sum(extra[0]) or 1.0)
        report.note(
            f"  points lost by the trouble, {name}: {low:.0f} / {middle:.0f} / {high:.0f} "
            f"(quartiles), {ratio:.2f} of nobody"
        )
    mended = " / ".join(str(mended_by[most]) for most in (1, 2, 3))
    report.note(f"  impossible ones mended with at most 1 / 2 / 3 moved: {mended}")


def _extra(damage: Damage, mended: Mended) -> float:
    return (mended.plan.objective or 0.0) - (damage.plan.objective or 0.0)


def _quartiles(values: list[float]) -> list[float]:
    ordered = sorted(values)
    return [ordered[int((len(ordered) - 1) * share)] for share in (0.25, 0.5, 0.75)]
