"""Week and plan files: read back the same, and refused with path, value and remedy."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.core.formats import (
    WeekRefused,
    plan_to_data,
    read_plan,
    read_week,
    week_to_data,
)
from scheduling.core.insertion import RULES, insert_all
from tests.scheduling.core.weeks import random_week

FIXTURES = Path(__file__).parents[3] / "fixtures" / "weeks"
Change = Callable[[dict[str, Any]], object]


@given(st.integers(0, 1000), st.integers(1, 6))
def test_week_is_read_back_the_same(seed: int, jobs: int) -> None:
    week = random_week(jobs, seed)
    assert read_week(json.dumps(week_to_data(week))) == week


def test_plan_is_read_back_the_same() -> None:
    week = random_week(4, 1)
    plan = insert_all(week, RULES["due"](week))[0].plan()
    assert read_plan(json.dumps(plan_to_data(plan))) == plan


@pytest.mark.parametrize("path", sorted(FIXTURES.glob("*.json")), ids=lambda path: path.name)
def test_fixture_is_a_week(path: Path) -> None:
    assert read_week(path.read_bytes()).jobs


def at(*keys: str | int, value: object) -> Change:
    """Return a change that puts a value at a path of a week's data."""

    def change(data: Any) -> None:
        for key in keys[:-1]:
            data = data[key]
        data[keys[-1]] = value

    return change


BAD: list[tuple[Change, str]] = [
    (at("format", value="halfmil-week/2"), "$.format"),
    (at("colour", value="red"), "$.colour"),
    (at("grid", value="15"), "$.grid"),
    (at("grid", value=25), "$.grid"),
    (at("horizon", value=10.5), "$.horizon"),
    (at("horizon", value=10**12), "$.horizon"),
    (at("lamps", value=True), "$.lamps"),
    (at("calendars", value=[]), "$.calendars"),
    (at("calendars", "early", value=[[420, 400]]), "$.calendars.early[0]"),
    (at("calendars", "early", 0, value=[420]), "$.calendars.early[0]"),
    (at("opening", 0, 1, value=1079), "$.opening[0][1]"),
    (at("objective", "flow", value=-1), "$.objective.flow"),
    (at("objective", "per", value=0), "$.objective.per"),
    (at("spots", 0, "capacity", value=0), "$.spots[0].capacity"),
    (at("spots", 1, "id", value="wash"), "$.spots[1].id"),
    (at("spots", 0, "park", value=1), "$.spots[0].park"),
    (at("crew", 0, "calendar", value="noon"), "$.crew[0].calendar"),
    (at("crew", 0, "skills", value="wash"), "$.crew[0].skills"),
    (at("jobs", 0, "weight", value="high"), "$.jobs[0].weight"),
    (at("jobs", 0, "ops", value=[]), "$.jobs[0].ops"),
    (at("jobs", 0, "ops", 1, "lag_min", value=-15), "$.jobs[0].ops[1].lag_min"),
    (at("jobs", 0, "ops", 0, "modes", 0, "dur", value=-60), "$.jobs[0].ops[0].modes[0].dur"),
    (at("jobs", 0, "ops", 0, "modes", 0, "time", value=1), "$.jobs[0].ops[0].modes[0].time"),
    (at("jobs", 0, "ops", 0, "skill", value=None), "$.jobs[0].ops[0].skill"),
    (at("frozen", value={"J9.9": {}}), "$.frozen.J9.9"),
    (at("frozen", value={"J1.wash": {"spot": "nowhere"}}), "$.frozen.J1.wash.spot"),
]


@pytest.mark.parametrize(("change", "path"), BAD, ids=[path for _, path in BAD])
def test_refused_with_its_path(change: Change, path: str) -> None:
    data = week_to_data(random_week(2, 1))
    change(data)
    with pytest.raises(WeekRefused) as refused:
        read_week(json.dumps(data))
    assert refused.value.path == path
    assert refused.value.remedy


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "null",
        '{"format": "halfmil-week/1"}',
        '{"format": "halfmil-week/1", "format": "halfmil-week/1"}',
        '{"format": NaN}',
        "[" * 100_000,
        b"\xff\xfe",
        '{"format": "halfmil-week/1", "grid": ' + "9" * 5000 + "}",
    ],
    ids=range(10),
)
def test_what_is_no_week_at_all(text: str | bytes) -> None:
    with pytest.raises(WeekRefused, match=r"^\$"):
        read_week(text)


def test_missing_key_is_named() -> None:
    data = week_to_data(random_week(1, 1))
    del data["jobs"][0]["due"]
    with pytest.raises(WeekRefused, match=r"\$\.jobs\[0\].*due.*missing"):
        read_week(json.dumps(data))
