"""What ``manage.py plan`` refuses: status 2, one line that says what is right, nothing written."""

import json
from pathlib import Path

import pytest

from scheduling.core.formats import week_to_data
from tests.scheduling.core.weeks import random_week
from tests.scheduling.management.running import run

WEEK = random_week(2, 1)


@pytest.fixture
def week(tmp_path: Path) -> str:
    path = tmp_path / "week.json"
    path.write_text(json.dumps(week_to_data(WEEK)), encoding="utf-8")
    return str(path)


@pytest.mark.parametrize(
    ("text", "start"),
    [
        ("", "$: "),
        ('{"format": "halfmil-week/1", ', "$: "),
        ('{"format": "halfmil-week/2"}', "$.format: 'halfmil-week/2': "),
        ('{"format": "halfmil-week/1", "grid": NaN}', "$.grid: 'NaN': "),
        ("[" * 5000 + "]" * 5000, "$: "),
        ('{"format": "halfmil-week/1", "a\\nb\\ud800": 1}', "$.a\\nb\\ud800: 1: "),
    ],
)
def test_a_file_that_is_no_week(tmp_path: Path, text: str, start: str) -> None:
    wrong, out = tmp_path / "wrong.json", tmp_path / "plan.json"
    wrong.write_text(text, encoding="utf-8")
    done = run("plan", str(wrong), "--json", str(out))
    assert (done.status, done.out, out.exists()) == (2, "", False)
    assert done.err.startswith(start)
    assert done.err.count("\n") == 1


@pytest.mark.parametrize(
    ("option", "value"),
    [
        ("seconds", "-1"),
        ("seconds", "nan"),
        ("seconds", "inf"),
        ("seconds", "soon"),
        ("seed", "-1"),
        ("seed", "1.5"),
        ("workers", "0"),
        ("rounds", "-1"),
        ("gap", "1.5"),
    ],
)
def test_an_option_out_of_range(week: str, tmp_path: Path, option: str, value: str) -> None:
    out = tmp_path / "plan.json"
    done = run("plan", week, "--json", str(out), f"--{option}={value}")
    assert (done.status, done.out, out.exists()) == (2, "", False)
    assert done.err.startswith(f"--{option}: '{value}': give a ")


def test_outputs_that_cannot_be_written_are_refused_before_the_search(
    week: str, tmp_path: Path
) -> None:
    for out in (tmp_path / "none" / "plan.json", tmp_path, Path("a\0b")):
        for option in ("--json", "--svg"):
            # Were the search begun, the test would take ten minutes.
            done = run("plan", week, option, str(out), "--seconds", "600")
            assert (done.status, done.out) == (2, "")
            assert done.err.startswith(f"{option}: ")


def test_outputs_that_would_overwrite_each_other(week: str, tmp_path: Path) -> None:
    out = str(tmp_path / "out")
    assert run("plan", week, "--json", out, "--svg", out).status == 2
    assert run("plan", week, "--svg", "-").status == 2
    assert run("plan", "-", "--start", "-").status == 2


def test_a_start_plan_that_is_none_or_does_not_hold(week: str, tmp_path: Path) -> None:
    start, out = tmp_path / "start.json", tmp_path / "plan.json"
    run("plan", week, "--seconds", "0", "--json", str(start))
    plan = json.loads(start.read_text(encoding="utf-8"))
    plan["ops"]["J1.wash"]["start"] -= 15
    for text, line in (
        ('{"format": "halfmil-plan/1", "status": 3}', "--start: $.status: 3: give one of "),
        (json.dumps(plan), "--start: J1.wash: "),
    ):
        start.write_text(text, encoding="utf-8")
        done = run("plan", week, "--start", str(start), "--json", str(out))
        assert (done.status, done.out, out.exists()) == (2, "", False)
        assert done.err.startswith(line)
    missing = run("plan", week, "--start", str(tmp_path / "none.json"))
    assert (missing.status, missing.err.split(": ")[0]) == (2, "--start")


def test_a_name_that_leads_nowhere(tmp_path: Path) -> None:
    for name in (str(tmp_path / "missing.json"), str(tmp_path)):
        done = run("plan", name)
        assert done.status == 2
        assert done.err.startswith("FILE: ")
