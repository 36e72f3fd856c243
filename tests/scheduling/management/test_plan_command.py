"""``manage.py plan``: a schedule with status 0, reasons with 3, progress where it is asked for."""

import io
import json
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from scheduling.core.check import check_plan
from scheduling.core.formats import read_plan, week_to_data
from scheduling.core.problem import Mode, PlanStatus, Week
from tests.scheduling.core.weeks import random_week
from tests.scheduling.management.running import run

WEEK = random_week(3, 1)


def written(week: Week, folder: Path) -> str:
    path = folder / "week.json"
    path.write_text(json.dumps(week_to_data(week)), encoding="utf-8")
    return str(path)


def impossible() -> Week:
    """A wash longer than any working window, which may not pause."""
    wash, *rest = WEEK.jobs[0].ops
    long = replace(wash, modes=(Mode(1200),))
    return replace(WEEK, jobs=(replace(WEEK.jobs[0], ops=(long, *rest)), *WEEK.jobs[1:]))


def test_a_schedule_that_holds(tmp_path: Path) -> None:
    out = tmp_path / "plan.json"
    done = run("plan", written(WEEK, tmp_path), "--seconds", "2", "--json", str(out))
    assert (done.status, done.err) == (0, "")
    plan = read_plan(out.read_text(encoding="utf-8"))
    assert check_plan(WEEK, plan) == []
    assert done.out.startswith(f"{WEEK.name}: ")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["plan.json", "week.json"]


def test_standard_input_and_output(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO(json.dumps(week_to_data(WEEK))))
    done = run("plan", "-", "--seconds", "0")
    assert done.status == 0
    assert check_plan(WEEK, read_plan(done.out)) == []
    assert WEEK.name in done.err


def test_impossible_is_written_with_its_reasons(tmp_path: Path) -> None:
    out = tmp_path / "plan.json"
    done = run("plan", written(impossible(), tmp_path), "--seconds", "2", "--json", str(out))
    assert done.status == 3
    plan = json.loads(out.read_text(encoding="utf-8"))
    assert (plan["status"], plan["objective"], plan["ops"]) == ("impossible", None, {})
    assert "J1.wash" in plan["reasons"][0]
    assert plan["reasons"][0] in done.out


def test_the_same_seed_and_rounds_give_the_same_plan(tmp_path: Path) -> None:
    week = written(random_week(4, 5), tmp_path)
    how = ("--seconds", "60", "--rounds", "1", "--seed", "3", "--workers", "1")
    one, two = (json.loads(run("plan", week, *how).out) for _ in range(2))
    assert one["seconds"] != two["seconds"]
    one["seconds"] = two["seconds"] = 0
    assert one == two


def test_stops_at_the_gap(tmp_path: Path) -> None:
    done = run("plan", written(random_week(8, 1), tmp_path), "--seconds", "60", "--gap", "0.9")
    plan = json.loads(done.out)
    assert (done.status, plan["status"]) == (0, PlanStatus.FEASIBLE)
    assert plan["gap"] <= 0.9
    assert plan["seconds"] < 20


def test_progress_is_told_when_asked_for(tmp_path: Path) -> None:
    week = written(random_week(6, 1), tmp_path)
    quiet = run("plan", week, "--seconds", "1")
    told = run("plan", week, "--seconds", "3", "--progress")
    assert "best" not in quiet.err
    for part in ("best ", "bound ", "gap ", " of 3 s", "improve"):
        assert part in told.err
    assert json.loads(told.out)["format"] == "halfmil-plan/1"


def test_the_picture_and_a_start_plan(tmp_path: Path) -> None:
    week, out, picture = written(WEEK, tmp_path), tmp_path / "plan.json", tmp_path / "plan.svg"
    first = run("plan", week, "--seconds", "2", "--json", str(out), "--svg", str(picture))
    assert first.status == 0
    assert picture.read_text(encoding="utf-8").startswith("<svg ")
    again = run("plan", week, "--seconds", "0", "--start", str(out))
    good = read_plan(out.read_text(encoding="utf-8")).objective
    better = read_plan(again.out).objective
    assert good is not None
    assert better is not None
    assert better <= good
    drawn = run("plan", written(impossible(), tmp_path), "--json", str(out), "--svg", str(picture))
    assert drawn.status == 3
    assert "J1.wash" in picture.read_text(encoding="utf-8")
