"""Each kind of wrong file that the format names is refused at its path, on one line."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.core.formats import WeekRefused, plan_to_data, read_plan, read_week, week_to_data
from scheduling.core.insertion import RULES, insert_all
from scheduling.core.problem import Plan, PlanStatus
from tests.scheduling.core.test_formats import at
from tests.scheduling.core.weeks import random_week

WEEK = random_week(2, 1)
PLAN = insert_all(WEEK, RULES["due"](WEEK))[0].plan()
NAN, INFINITE = float("nan"), float("inf")
Change = Callable[[dict[str, Any]], object]
OP = ("jobs", 0, "ops", 1)
BAD: list[tuple[str, Change, str]] = [
    ("NaN", at("jobs", 1, "weight", value=NAN), "$.jobs[1].weight"),
    ("infinity", at("objective", "move", value=INFINITE), "$.objective.move"),
    ("weight of no solver", at("jobs", 0, "weight", value=1e300), "$.jobs[0].weight"),
    ("release off the grid", at("jobs", 0, "release", value=7), "$.jobs[0].release"),
    ("due off the grid", at("jobs", 1, "due", value=31), "$.jobs[1].due"),
    ("horizon off the grid", at("horizon", value=1441), "$.horizon"),
    ("closure off the grid", at("spots", 1, "closures", value=[[0, 20]]),
     "$.spots[1].closures[0][1]"),
    ("duration off the grid", at(*OP, "modes", 0, "dur", value=31),
     "$.jobs[0].ops[1].modes[0].dur"),
    ("lag off the grid", at(*OP, "lag_max", value=1), "$.jobs[0].ops[1].lag_max"),
    ("frozen off the grid", at("frozen", value={"J1.wash": {"end": 7}}), "$.frozen.J1.wash.end"),
    ("frozen backwards", at("frozen", value={"J1.wash": {"start": 600, "end": 540}}),
     "$.frozen.J1.wash.end"),
    ("closure backwards", at("spots", 0, "closures", value=[[60, 30]]), "$.spots[0].closures[0]"),
    ("empty window", at("opening", value=[[60, 60]]), "$.opening[0]"),
    ("job twice", at("jobs", 1, "id", value="J1"), "$.jobs[1].id"),
    ("operation twice", at(*OP, "id", value="J1.wash"), "$.jobs[0].ops[1].id"),
    ("person twice", at("crew", 1, "id", value="T1"), "$.crew[1].id"),
    ("unknown key of a spot", at("spots", 0, "size", value=1), "$.spots[0].size"),
    ("unknown key of a person", at("crew", 0, "age", value=1), "$.crew[0].age"),
    ("unknown key of a job", at("jobs", 0, "car", value=1), "$.jobs[0].car"),
    ("unknown key of an operation", at(*OP, "tool", value=1), "$.jobs[0].ops[1].tool"),
    ("unknown key frozen", at("frozen", value={"J1.wash": {"mode": 1}}), "$.frozen.J1.wash.mode"),
    ("frozen person unknown", at("frozen", value={"J1.wash": {"crew": ["T9"]}}),
     "$.frozen.J1.wash.crew[0]"),
    ("true is no number", at("jobs", 0, "release", value=True), "$.jobs[0].release"),
    ("half minutes", at(*OP, "modes", 0, "dur", value=30.0), "$.jobs[0].ops[1].modes[0].dur"),
    ("crew in words", at(*OP, "crew", value="one"), "$.jobs[0].ops[1].crew"),
    ("text for a flag", at(*OP, "pausable", value="no"), "$.jobs[0].ops[1].pausable"),
    ("skill without crew", at(*OP, "crew", value=0), "$.jobs[0].ops[1].skill"),
    ("another age", at("jobs", 0, "release", value=15 * 10**15), "$.jobs[0].release"),
    ("too many digits", at("jobs", 0, "due", value=10**40), "$.jobs[0].due"),
    ("a million people", at(*OP, "crew", value=10**6), "$.jobs[0].ops[1].crew"),
    ("spot named stay", at("spots", 0, "id", value="stay"), "$.spots[0].id"),
    ("no name", at("jobs", 0, "id", value=""), "$.jobs[0].id"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "path"), [b[1:] for b in BAD], ids=[b[0] for b in BAD])
def test_a_wrong_week_is_refused_at_its_path(change: Change, path: str) -> None:
    data = week_to_data(WEEK)
    change(data)
    with pytest.raises(WeekRefused) as refused:
        read_week(json.dumps(data))
    assert refused.value.path == path
    assert "\n" not in str(refused.value)


def test_minimum_over_maximum_lag() -> None:
    data = week_to_data(WEEK)
    data["jobs"][0]["ops"][1] |= {"lag_min": 60, "lag_max": 45}
    with pytest.raises(WeekRefused, match=r"^\$\.jobs\[0\]\.ops\[1\]\.lag_max: 45: at least"):
        read_week(json.dumps(data))


def test_a_key_that_stands_twice_is_refused_at_its_path() -> None:
    text = json.dumps(week_to_data(WEEK)).replace('"capacity": 1', '"capacity": 1, "capacity": 1')
    with pytest.raises(WeekRefused, match=r"^\$\.spots\[0\]\.capacity: "):
        read_week(text)


def test_beyond_the_horizon_is_no_mistake() -> None:
    data = week_to_data(WEEK)
    far = data["horizon"] + 1440
    data["calendars"]["early"].append([far, far + 60])
    data["opening"].append([far, far + 60])
    data["spots"][0]["closures"] = [[far, far + 60]]
    data["jobs"][0]["due"] = far
    assert read_week(json.dumps(data)).jobs[0].due == far


@pytest.mark.parametrize("deep", [900, 100_000])
def test_depth_and_size_are_refused_without_effort(deep: int) -> None:
    inside = "[" * deep + "]" * deep
    for text in (
        f'{{"format": "halfmil-week/1", "x": {inside}}}',
        json.dumps(week_to_data(WEEK))[:-1] + f', "x": {inside}}}',
    ):
        with pytest.raises(WeekRefused) as refused:
            read_week(text)
        assert len(str(refused.value)) < 400


def test_a_file_too_large_is_refused() -> None:
    with pytest.raises(WeekRefused, match="20000000"):
        read_week(" " * 20_000_001)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=8,
)


@given(st.data())
@settings(max_examples=150)
def test_any_value_anywhere_is_read_or_refused_on_one_line(data: st.DataObject) -> None:
    week = week_to_data(WEEK)
    here: Any = week
    while isinstance(here, (dict, list)) and here:
        keys = sorted(here) if isinstance(here, dict) else list(range(len(here)))
        key = data.draw(st.sampled_from(keys))
        if not isinstance(here[key], (dict, list)) or data.draw(st.booleans()):
            here[key] = data.draw(JSON)
            break
        here = here[key]
    told = ""
    try:
        read_week(json.dumps(week))
    except WeekRefused as refused:
        told = str(refused)
    assert "\n" not in told
    told.encode("utf-8")


def test_the_answer_has_exactly_the_keys_of_the_format() -> None:
    data = plan_to_data(PLAN)
    assert set(data) == {
        "format", "status", "objective", "bound", "gap", "seconds", "parts", "ops", "waits",
    }  # fmt: skip
    assert set(data["parts"]) == {"weighted_tardiness_min", "flow_min", "moves"}
    assert all(
        set(one) == {"start", "end", "spot", "crew", "mode", "pieces"}
        for one in data["ops"].values()
    )
    assert {key: len(waits) for key, waits in data["waits"].items()} == {
        job.id: len(job.ops) - 1 for job in WEEK.jobs
    }
    assert plan_to_data(Plan(PlanStatus.IMPOSSIBLE, reasons=("why",)))["reasons"] == ["why"]


@given(st.integers(0, 1000), st.sampled_from(sorted(RULES)))
@settings(max_examples=40)
def test_a_plan_is_read_back_the_same(seed: int, rule: str) -> None:
    week = random_week(3, seed)
    plan = insert_all(week, RULES[rule](week))[0].plan()
    assert read_plan(json.dumps(plan_to_data(plan), allow_nan=False)) == plan
