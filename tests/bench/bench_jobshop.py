"""Classic job shops to the proven optimum: ours, a plain CP-SAT model and PyJobShop, one core.

The plain model is the one of every textbook: a start for each step, no overlap on a machine.
Ours goes through the week file's model. Larger shops come from a file that
``HALFMIL_JOB_SHOPS`` names: ``{"name": {"jobs": [[[machine, time], ...], ...], "opt": 930}}``.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path

from ortools.sat.python import cp_model

from scheduling.core.problem import Plan, PlanStatus
from scheduling.core.solve import Effort, solve
from tests.bench.report import Report
from tests.outside.job_shops import CLASSIC, Steps
from tests.outside.test_scheduling_textbook import MAKESPAN, shop

LIMIT_SECONDS = 60.0
REPEATS = 3
AGAINST_TEXTBOOK, AGAINST_PYJOBSHOP = 1.5, 1.0

Found = tuple[bool, float]
Solver = Callable[[Sequence[Steps]], Found]


def run(report: Report) -> None:
    """Print time to the proven optimum of each shop and solver, and the ratios."""
    rivals: dict[str, Solver] = {"textbook CP-SAT": by_textbook}
    try:
        import pyjobshop  # noqa: F401, PLC0415 -- an extra that only comparisons need
    except ImportError:
        report.note("PyJobShop is not installed: pip install '.[compare]'")
    else:
        rivals["PyJobShop"] = by_pyjobshop
    totals: dict[str, float] = {}
    for name, (jobs, shortest) in shops(report).items():
        every = {"ours": by_week} | rivals
        took = {who: _timed(who, solver, jobs, shortest) for who, solver in every.items()}
        for who, (seconds, proven) in took.items():
            totals[who] = totals.get(who, 0.0) + min(seconds)
            report.timing(f"{name} by {who}" + ("" if proven else ", not proven"), seconds)
        for who, target in (
            ("textbook CP-SAT", AGAINST_TEXTBOOK),
            ("PyJobShop", AGAINST_PYJOBSHOP),
        ):
            if who in took:
                report.ratio(f"{name} ours : {who}", took["ours"][0], took[who][0], target=target)
    for who in rivals:
        report.figure(
            f"all shops, ours : {who}", totals["ours"] / totals[who], "x", "sums of bests"
        )


def shops(report: Report) -> dict[str, tuple[list[Steps], int]]:
    """Return the re-typed shops and those of the file, by name."""
    path = os.environ.get("HALFMIL_JOB_SHOPS")
    if not path:
        report.note("HALFMIL_JOB_SHOPS names no file of larger job shops: only the re-typed ones")
        return CLASSIC
    data = json.loads(Path(path).read_text(encoding="utf-8"))
    more = {
        name: ([[(machine, took) for machine, took in steps] for steps in one["jobs"]], one["opt"])
        for name, one in data.items()
    }
    return CLASSIC | more


def by_week(jobs: Sequence[Steps]) -> Found:
    """Solve as a week: machines are bays, parking has room for all."""
    week = shop(list(jobs), MAKESPAN)
    plan: Plan = solve(week, Effort(seconds=LIMIT_SECONDS), clock=time.monotonic)
    return plan.status is PlanStatus.OPTIMAL, plan.objective or 0.0


def by_textbook(jobs: Sequence[Steps]) -> Found:
    """Solve by the model of the textbook, nothing set but the number of workers."""
    model = cp_model.CpModel()
    last = sum(took for steps in jobs for _, took in steps)
    machines: dict[int, list[cp_model.IntervalVar]] = {}
    ends = []
    for steps in jobs:
        at: cp_model.LinearExprT = 0
        for machine, took in steps:
            start = model.new_int_var(0, last, "")
            model.add(start >= at)
            step = model.new_fixed_size_interval_var(start, took, "")
            machines.setdefault(machine, []).append(step)
            at = start + took
        ends.append(at)
    for intervals in machines.values():
        model.add_no_overlap(intervals)
    makespan = model.new_int_var(0, last, "")
    model.add_max_equality(makespan, ends)
    model.minimize(makespan)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = LIMIT_SECONDS
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    return status == cp_model.OPTIMAL, solver.objective_value


def by_pyjobshop(jobs: Sequence[Steps]) -> Found:
    """Solve by PyJobShop, nothing set but the number of workers."""
    from pyjobshop import Model  # noqa: PLC0415 -- an extra that only comparisons need

    model = Model()
    machines = {
        number: model.add_machine()
        for number in sorted({machine for steps in jobs for machine, _ in steps})
    }
    for steps in jobs:
        job = model.add_job()
        tasks = []
        for machine, took in steps:
            task = model.add_task(job=job)
            model.add_mode(task, machines[machine], took)
            tasks.append(task)
        for before, after in pairwise(tasks):
            model.add_end_before_start(before, after)
    result = model.solve(time_limit=LIMIT_SECONDS, num_workers=1, display=False)
    return result.status.value.lower() == "optimal", result.objective


def _timed(
    who: str, solver: Solver, jobs: Sequence[Steps], shortest: int
) -> tuple[list[float], bool]:
    """Return processor seconds of some runs; a wrong optimum stops everything."""
    seconds = []
    proven = True
    for _ in range(REPEATS):
        began = time.process_time()
        optimal, value = solver(jobs)
        seconds.append(time.process_time() - began)
        if value < shortest or (optimal and value != shortest):
            raise RuntimeError(f"{who} says {value}, the optimum is {shortest}")
        proven = proven and optimal
        if seconds[-1] > LIMIT_SECONDS / 10:
            break
    return seconds, proven
