"""The search for a plan: when the first stands, how good one is after a second and after longer.

Invented weeks from a seed, of a small shop that is busier than it can be; every plan is checked.
What is compared with is the best of the priority rules alone, placed by the exact earliest fit.
``BENCH_SECONDS`` is the longer limit (20 without it; the README's figures are of 60) and
``BENCH_JOBS`` the sizes, as in ``20,40``.
"""

from __future__ import annotations

import json
import os
import subprocess
import time
from pathlib import Path
from statistics import mean
from typing import Any

from scheduling.core.check import check_plan
from scheduling.core.freeindex import FreeIndex
from scheduling.core.improve import RuinRecreate
from scheduling.core.insertion import RULES, insert_all, week_resources
from scheduling.core.problem import Week
from scheduling.core.sketch import Sketch
from scheduling.core.solve import Effort, Progress, solve
from scheduling.core.timetable import Timetable
from tests.bench.report import PYTHON, Report
from tests.scheduling.core.weeks import random_week

ROOT = Path(__file__).resolve().parents[2]
SIZES = (10, 20, 40, 80, 160)
SEEDS = (1, 2)
LONG_SECONDS = 20.0
FIRST_TARGET_SECONDS, SECOND_TARGET, MINUTE_TARGET, MEMORY_TARGET_MB = 0.5, 0.90, 0.70, 1024.0
STEPS_SECONDS = 2.0
_CHILD = """
import json, resource, sys
from tests.bench.bench_search import one_run
figures = one_run(int(sys.argv[1]), int(sys.argv[2]), float(sys.argv[3]))
figures["mb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(json.dumps(figures))
"""


def run(report: Report) -> None:
    """Print the figures of each size, and the mean over the sizes with a target."""
    long = float(os.environ.get("BENCH_SECONDS", LONG_SECONDS))
    asked = os.environ.get("BENCH_JOBS")
    sizes = SIZES if asked is None else tuple(int(size) for size in asked.split(","))
    by_size = {size: [_in_its_own_process(size, seed, long) for seed in SEEDS] for size in sizes}
    for size, runs in by_size.items():
        _size(report, size, runs, long)
    aimed = [one for size, runs in by_size.items() if 20 <= size <= 80 for one in runs]
    if aimed:
        _ratio(report, "20 to 80 jobs after 1 s", [one["short"] for one in aimed], SECOND_TARGET)
        target = MINUTE_TARGET if long >= 60 else None
        name = f"20 to 80 jobs after {long:g} s"
        _ratio(report, name, [one["long"] for one in aimed], target)
    most = max(one["mb"] for runs in by_size.values() for one in runs)
    report.figure("peak memory of a search", most, "MB", "any size", target=MEMORY_TARGET_MB)


def _size(report: Report, size: int, runs: list[dict[str, float]], long: float) -> None:
    first = [one["first"] for one in runs]
    target = FIRST_TARGET_SECONDS if size <= 40 else None
    detail = f"worst of {len(runs)} weeks, the timetable and one rule included"
    report.figure(f"first plan, {size} jobs", max(first), "s", detail, target=target)
    _ratio(report, f"{size} jobs after 1 s", [one["short"] for one in runs], None)
    _ratio(report, f"{size} jobs after {long:g} s", [one["long"] for one in runs], None)
    rate = mean(one["steps"] for one in runs)
    report.figure(f"ruin and recreate, {size} jobs", 1000 / rate, "ms", f"a step, {rate:,.0f}/s")


def _ratio(report: Report, name: str, values: list[float], target: float | None) -> None:
    spread = f"of the best rule; {min(values):.2f} to {max(values):.2f} over {len(values)} weeks"
    report.figure(name, mean(values), "", spread, target=target)


def _in_its_own_process(size: int, seed: int, long: float) -> dict[str, float]:
    """Memory is counted by process, and one run must not warm the next."""
    command = [PYTHON, "-c", _CHILD, str(size), str(seed), str(long)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(f"{size} jobs, seed {seed}: {done.stderr.strip()}")
    figures: dict[str, float] = json.loads(done.stdout)
    return figures


def one_run(size: int, seed: int, long: float) -> dict[str, float]:
    """Return the figures of one week, once every plan has passed the checker."""
    week = random_week(size, seed)
    steps = _steps_a_second(week)
    told: list[Progress] = []
    short_value = _value(week, 1.0, progress=told.append)
    long_value = _value(week, long)
    base = _best_rule(week)
    return {
        "first": next(one.seconds for one in told if one.best is not None),
        "short": short_value / base,
        "long": long_value / base,
        "steps": steps,
    }


def _value(week: Week, seconds: float, **watch: Any) -> float:
    plan = solve(week, Effort(seconds=seconds), clock=time.monotonic, **watch)
    faults = check_plan(week, plan)
    if faults or plan.objective is None:
        raise RuntimeError(f"{week.name}: {plan.status} {faults[:3]}")
    return plan.objective


def _best_rule(week: Week) -> float:
    drafts = [insert_all(week, rule(week))[0] for rule in RULES.values()]
    return min(one.objective for one in drafts if len(one.placed) == len(week.jobs))


def _steps_a_second(week: Week) -> float:
    sketch = Sketch(Timetable(week, FreeIndex(week_resources(week))))
    sketch.insert_all(RULES["due"](week))
    search = RuinRecreate(sketch)
    began = time.process_time()
    while time.process_time() - began < STEPS_SECONDS:
        search.run(20, cooled=0.5)
    return search.steps / (time.process_time() - began)
