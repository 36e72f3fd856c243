"""How much of a plan's cost is proven to be needed, by number of jobs, after some seconds.

Weeks are invented by the tests' generator; ``HALFMIL_WEEKS`` may name a folder of week files to
plan as well. ``HALFMIL_BOUND_SECONDS`` is the time of each (20 by default, 60 for the figures
that are quoted). Every plan is checked; the gap by each job alone in an empty shop stands beside.
"""

from __future__ import annotations

import os
import time
from pathlib import Path

from scheduling.core.bounds import alone
from scheduling.core.check import check_plan
from scheduling.core.formats import read_week
from scheduling.core.freeindex import FreeIndex
from scheduling.core.insertion import week_resources
from scheduling.core.problem import PlanStatus, Week
from scheduling.core.solve import Effort, solve
from tests.bench.report import Report
from tests.scheduling.core.weeks import random_week

SECONDS = 20.0
GENERATED = ((10, 1), (10, 2), (20, 1), (20, 2), (40, 1))
SMALL_JOBS = 12
SMALL_GAP, LARGE_GAP = 2.0, 25.0
"""Targets after 60 seconds on two cores, per cent."""


def run(report: Report) -> None:
    """Print the gap of every week."""
    seconds = float(os.environ.get("HALFMIL_BOUND_SECONDS", SECONDS))
    for week in weeks():
        _one(report, week, seconds)


def weeks() -> list[Week]:
    """Return the weeks: from files, if a folder is named, and generated."""
    folder = os.environ.get("HALFMIL_WEEKS")
    files = sorted(Path(folder).glob("*.json")) if folder else []
    given = [read_week(file.read_text(encoding="utf-8")) for file in files]
    return given + [random_week(jobs, seed) for jobs, seed in GENERATED]


def _one(report: Report, week: Week, seconds: float) -> None:
    single = alone(week, FreeIndex(week_resources(week)))
    plan = solve(week, Effort(seconds=seconds), clock=time.monotonic)
    jobs = len(week.jobs)
    title = f"gap of {week.name}, {jobs} jobs, {seconds:.0f} s"
    if plan.status is PlanStatus.NONE_FOUND or plan.objective is None or plan.gap is None:
        report.figure(title, 100.0, "%", "no plan was found")
        return
    broken = check_plan(week, plan)
    if broken:
        raise RuntimeError(f"{week.name}: {broken[0].text}")
    by_alone = 100 * (1 - single.total / plan.objective)
    detail = f"plan {plan.objective:,.0f}, bound {plan.bound:,.0f}; each job alone {by_alone:.1f} %"
    target = SMALL_GAP if jobs <= SMALL_JOBS else LARGE_GAP
    report.figure(title, 100 * plan.gap, "%", detail, target=target)
