"""``manage.py plan_check``: silent proof of a good plan, a line for each violation of a bad one."""

import json
from pathlib import Path
from typing import Any

import pytest

from scheduling.core.formats import week_to_data
from tests.scheduling.core.weeks import random_week
from tests.scheduling.management.running import run


@pytest.fixture
def week(tmp_path: Path) -> str:
    path = tmp_path / "week.json"
    path.write_text(json.dumps(week_to_data(random_week(3, 1))), encoding="utf-8")
    return str(path)


@pytest.fixture
def plan(week: str) -> dict[str, Any]:
    made: dict[str, Any] = json.loads(run("plan", week, "--seconds", "0").out)
    return made


def written(plan: dict[str, Any], folder: Path) -> str:
    path = folder / "plan.json"
    path.write_text(json.dumps(plan), encoding="utf-8")
    return str(path)


def test_a_plan_that_holds(week: str, plan: dict[str, Any], tmp_path: Path) -> None:
    done = run("plan_check", week, written(plan, tmp_path))
    assert (done.status, done.err) == (0, "")
    assert "keeps every rule" in done.out


def test_each_violation_on_a_line(week: str, plan: dict[str, Any], tmp_path: Path) -> None:
    plan["ops"]["J1.check"]["crew"] = ["T1"]
    plan["gap"] = 0.123
    done = run("plan_check", week, written(plan, tmp_path))
    assert done.status == 1
    lines = done.out.splitlines()
    assert "crew: J1.check: T1 lacks 'check'" in lines
    assert any(line.startswith("objective: gap: says 0.123") for line in lines)
    assert done.err == f"{len(lines)} violations\n"


def test_a_file_without_a_schedule_is_no_plan(week: str, tmp_path: Path) -> None:
    none = {"format": "halfmil-plan/1", "status": "impossible", "reasons": ["no bay"]}
    done = run("plan_check", week, written(none, tmp_path))
    assert (done.status, done.out) == (1, "shape: impossible: holds no schedule: no bay\n")


@pytest.mark.parametrize(
    ("key", "value", "line"),
    [
        ("gap", "none", "PLAN: $.gap: 'none': give a number or null"),
        ("ops", {"J1.wash": {"start": 1.5}}, "PLAN: $.ops.J1.wash: "),
        ("colour", 1, "PLAN: $.colour: 1: unknown key"),
    ],
)
def test_a_refused_plan_file(
    week: str, plan: dict[str, Any], tmp_path: Path, key: str, value: object, line: str
) -> None:
    done = run("plan_check", week, written(plan | {key: value}, tmp_path))
    assert (done.status, done.out) == (2, "")
    assert done.err.startswith(line)
    assert done.err.count("\n") == 1


def test_a_refused_week_file(plan: dict[str, Any], tmp_path: Path) -> None:
    path = written(plan, tmp_path)
    done = run("plan_check", path, path)
    assert (done.status, done.out) == (2, "")
    assert done.err.startswith("$.format: 'halfmil-plan/1': ")
    assert run("plan_check", "-", "-").status == 2
