"""Published projects with minimum and maximum lags, on the model layer beneath the week.

``HALFMIL_RCPSP_MAX`` names a folder with folders of instances in the format of ProGen/max and an
``optimum.csv`` each (published optimum, ``unsat``, or ``low..high`` where it is open).
"""

from __future__ import annotations

import csv
import os
import time
from collections.abc import Iterator
from pathlib import Path

from scheduling.core.cpmodel import Limits
from scheduling.core.problem import PlanStatus
from scheduling.core.project import Activity, ProjectAnswer, StartLag, shortest_project
from tests.bench.report import MS, Report

LIMIT_SECONDS = 5.0


def run(report: Report) -> None:
    """Print how many instances agree with the published optimum, and the slowest of them."""
    folder = os.environ.get("HALFMIL_RCPSP_MAX")
    if not folder:
        report.note("HALFMIL_RCPSP_MAX names no folder of published projects: not measured")
        return
    for group in sorted(path for path in Path(folder).iterdir() if path.is_dir()):
        seconds, wrong = [], []
        for path, published in instances(group):
            began = time.perf_counter()
            answer = shortest_project(*read(path), Limits(LIMIT_SECONDS))
            seconds.append(time.perf_counter() - began)
            if not agrees(answer, published):
                wrong.append(f"{path.name}: {answer.status}, {answer.makespan}, not {published}")
        for line in wrong:
            report.note(line)
        name = f"{group.name}, {len(seconds)} projects"
        report.timing(name, seconds)
        worst = max(seconds) * MS
        report.figure(f"{name}, slowest", worst, "ms", "wall", target=LIMIT_SECONDS * MS)
        report.figure(f"{name}, that do not agree", len(wrong), "", "of the published", target=1)


def instances(group: Path) -> Iterator[tuple[Path, str]]:
    """Yield the instances of a folder with the published optimum."""
    with (group / "optimum.csv").open(encoding="ascii") as file:
        published = {row["problem"].lower(): row["optimum"] for row in csv.DictReader(file)}
    for path in sorted(group.iterdir()):
        if path.suffix.lower() == ".sch":
            yield path, published[path.name.lower()]


def read(path: Path) -> tuple[list[Activity], list[StartLag], list[int]]:
    """Return the activities, lags and capacities of a file."""
    rows = [line.split() for line in path.read_text(encoding="ascii").splitlines() if line.split()]
    count, resources = int(rows[0][0]) + 2, int(rows[0][1])
    lags = []
    for row in rows[1 : count + 1]:
        many = int(row[2])
        after, least = row[3 : 3 + many], row[3 + many : 3 + 2 * many]
        lags += [
            StartLag(int(row[0]), int(one), int(lag.strip("[]")))
            for one, lag in zip(after, least, strict=True)
        ]
    activities = [
        Activity(int(row[2]), tuple(int(units) for units in row[3 : 3 + resources]))
        for row in rows[count + 1 : 2 * count + 1]
    ]
    return activities, lags, [int(units) for units in rows[2 * count + 1]]


def agrees(answer: ProjectAnswer, published: str) -> bool:
    """Return whether an answer is the published one (proven), or lies in an open interval."""
    if published == "unsat":
        return answer.status is PlanStatus.IMPOSSIBLE and bool(answer.reasons)
    low, _, high = published.partition("..")
    if answer.status is not PlanStatus.OPTIMAL or answer.makespan is None:
        return False
    return int(low) <= answer.makespan <= int(high or low)
