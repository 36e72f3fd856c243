"""The plan of one vehicle: one goal, the whole finish curve, a full estimate; growth; rivals.

The findings are invented, from a seed. Rivals get the very items the plan is chosen
from, and must find a plan of the same cost.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import tempfile
import time
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
from ortools.sat.python import cp_model
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from estimating.core.estimate import estimate, panel_cases, setting_for
from estimating.core.formats import read_inspection, write_estimate
from estimating.core.inspection import Goal
from estimating.core.options import Options
from estimating.core.plan import Frontier, Item
from estimating.core.select import Chooser, select
from estimating.core.setting import Setting
from estimating.core.work import PanelCase
from estimating.services.estimates import Basis, basis_without_shop
from tests.bench.bench_estimate import PANELS
from tests.bench.report import MS, PYTHON, Report
from tests.factories import document, fender

ROOT = Path(__file__).resolve().parents[2]
CLEARED = 0.6
FILES = 1_000
REPEATS = 15
_LOOK_SECONDS = 0.05


def vehicle(seed: int) -> dict[str, Any]:
    """Sixteen panels of a pickup, no two alike."""
    rng = Random(seed)  # noqa: S311 -- invented readings
    panels = []
    for name in PANELS:
        film = round(rng.uniform(3.9, 4.8), 1)
        severity = rng.choice(["light", "moderate", "heavy"])
        defects: list[dict[str, Any]] = [
            {"kind": "swirl_marks", "severity": severity, "extent": round(rng.random(), 2)}
        ]
        if rng.random() < 0.4:
            local = round(film - 0.5, 1)
            defects.append({"kind": "deep_scratch", "count": 1, "local_reading": local})
        spots = [[film, film, round(film + 0.1, 1)], [round(film + 0.1, 1)] * 3]
        panels.append(fender(panel=name, spots=spots, defects=defects))
    return document(panels=panels, goal={"cleared": CLEARED})


def run(report: Report) -> None:
    """Print every figure beside its target."""
    basis = basis_without_shop()
    cases, given = prepared(basis, 16)
    goal = Goal(cleared=CLEARED)
    report.measure("plan for one goal, 16 panels", lambda: one_plan(cases, given), target_ms=10)
    report.measure(
        "whole finish curve, 16 panels", lambda: select(cases, goal, given), target_ms=50
    )
    text = json.dumps(vehicle(0))
    report.measure("full estimate in process, 16 panels", lambda: full(text, basis), target_ms=60)
    growth(report, basis)
    rivals(report, cases, given)
    many(report)


def one_plan(cases: Sequence[PanelCase], given: Setting) -> object:
    """The cheapest plan that clears the share."""
    return Chooser(cases, given, drop_spot_work=False).for_cleared(CLEARED)


def full(text: str, basis: Basis) -> dict[str, Any]:
    """From the text of a file to the object that is printed."""
    made = estimate(read_inspection(text), basis.catalogue, basis.terms)
    return write_estimate(made)


def prepared(basis: Basis, count: int) -> tuple[list[PanelCase], Setting]:
    """The panels of as many vehicles as it takes, as if they stood on one."""
    cases: list[PanelCase] = []
    given = setting_for(read_inspection(vehicle(0)), basis.catalogue, basis.terms, Options())
    for seed in range(-(-count // len(PANELS))):
        cases += panel_cases(read_inspection(vehicle(seed)), given)
    return cases[:count], given


def growth(report: Report, basis: Basis) -> None:
    """Cost against panels: reading off the exponent of the growth, 1 being linear."""
    goal = Goal(cleared=CLEARED)
    took = {}
    for count in (8, 16, 32, 64):

        def whole(count: int = count) -> None:
            select(*_with_goal(prepared(basis, count), goal))

        took[count] = report.measure(f"findings to curve, {count} panels", whole, repeats=REPEATS)
    exponent = float(np.polyfit(np.log(list(took)), np.log(list(took.values())), 1)[0])
    detail = "time grows as panels to this power, least squares over 8 to 64"
    report.figure("growth with panels", exponent, "", detail, target=1.25)


def _with_goal(
    made: tuple[list[PanelCase], Setting], goal: Goal
) -> tuple[list[PanelCase], Goal, Setting]:
    return made[0], goal, made[1]


def rivals(report: Report, cases: Sequence[PanelCase], given: Setting) -> None:
    """The same knapsack by our own, by CP-SAT and by a MILP."""
    groups = Chooser(cases, given, drop_spot_work=False).groups
    most = sum(max(item.gain for item in group) for group in groups)
    least = round(CLEARED * most)
    ours = _timed(lambda: _by_frontier(groups, least))
    for name, rival in (("CP-SAT", _by_cp_sat), ("MILP (HiGHS)", _by_milp)):
        found = _timed(partial(rival, groups, least))
        if found[1] != ours[1]:
            raise RuntimeError(f"{name} costs {found[1]}, ours {ours[1]}")
        report.ratio(f"one goal by {name} against ours", found[0], ours[0])


def _timed(work: Callable[[], int]) -> tuple[list[float], int]:
    cost = work()
    seconds = []
    for _ in range(REPEATS):
        began = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - began)
    return seconds, cost


def _by_frontier(groups: Sequence[Sequence[Item]], least: int) -> int:
    frontier = Frontier(groups)
    point = frontier.cheapest_reaching(least)
    assert point is not None
    return frontier.choice(point).cost


def _by_cp_sat(groups: Sequence[Sequence[Item]], least: int) -> int:
    model = cp_model.CpModel()
    taken = [[model.new_bool_var("") for _ in group] for group in groups]
    for row in taken:
        model.add_exactly_one(row)
    pairs = [
        (item, var)
        for group, row in zip(groups, taken, strict=True)
        for item, var in zip(group, row, strict=True)
    ]
    model.add(sum(item.gain * var for item, var in pairs) >= least)
    model.minimize(sum(item.cost * var for item, var in pairs))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.solve(model)
    return round(solver.objective_value)


def _by_milp(groups: Sequence[Sequence[Item]], least: int) -> int:
    items = [(item, place) for place, group in enumerate(groups) for item in group]
    costs = np.array([item.cost for item, _ in items])
    one_each = csr_array(
        (np.ones(len(items)), ([place for _, place in items], range(len(items)))),
        shape=(len(groups), len(items)),
    )
    found = milp(
        costs,
        integrality=np.ones(len(items)),
        bounds=Bounds(0, 1),
        constraints=[
            LinearConstraint(one_each, 1, 1),
            LinearConstraint(np.array([[item.gain for item, _ in items]]), least, np.inf),
        ],
        options={"mip_rel_gap": 0},
    )
    return round(found.fun)


def many(report: Report) -> None:
    """A thousand files through ``manage.py estimate`` in one process, start-up included."""
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(FILES):
            path = Path(folder) / f"{seed:04}.json"
            path.write_text(json.dumps(vehicle(seed)), encoding="utf-8")
        seconds, cpu_seconds, peak_mb = _command(folder, Path(folder) / "none.sqlite3")
    per_file = seconds / FILES * MS
    detail = f"{FILES / seconds:.1f} a second; {FILES / cpu_seconds:.1f} a second of one core"
    # 40 a second.
    report.figure(f"{FILES:,} inspections, each", per_file, "ms", detail, target=25)
    report.figure("their peak memory", peak_mb, "MB", "resident, the whole process", target=200)


def _command(folder: str, database: Path) -> tuple[float, float, float]:
    """Seconds, processor seconds and peak memory in MB of the command."""
    environment = {**os.environ, "HALFMIL_DATABASE_URL": f"sqlite:///{database}"}
    began = time.perf_counter()
    with subprocess.Popen(
        [PYTHON, "manage.py", "estimate", folder, "--json"],
        cwd=ROOT,
        env=environment,
        stdout=subprocess.DEVNULL,
    ) as process:
        peak_kb = 0
        while True:
            # Not from rusage: a child's peak there starts at its parent's size.
            peak_kb = max(peak_kb, _peak_kb(process.pid))
            pid, status, used = os.wait4(process.pid, os.WNOHANG)
            if pid:
                break
            time.sleep(_LOOK_SECONDS)
        seconds = time.perf_counter() - began
        process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise RuntimeError(f"manage.py estimate: exit status {process.returncode}")
    return seconds, used.ru_utime + used.ru_stime, peak_kb / 1024


def _peak_kb(pid: int) -> int:
    """The most memory a process has had so far."""
    status = Path(f"/proc/{pid}/status").read_text(encoding="ascii")
    found = re.search(r"^VmHWM:\s+(\d+) kB", status, re.MULTILINE)
    return int(found[1]) if found else 0  # it has ended
