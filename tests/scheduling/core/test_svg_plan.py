"""The picture of a plan: well formed, every vehicle and its work in it, lateness in words."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.core.insertion import RULES, insert_all
from scheduling.core.plan_axis import CLOSED_SHARE, DAY_MINUTES, plan_axis
from scheduling.core.plan_rows import duration, kind_of, lanes, visits
from scheduling.core.problem import Mode, Operation, Plan, PlanStatus, Week
from scheduling.core.svg_plan import plan_svg
from tests.scheduling.core.weeks import random_week

SVG = "{http://www.w3.org/2000/svg}"


def planned(jobs: int, seed: int) -> tuple[Week, Plan]:
    week = random_week(jobs, seed)
    return week, insert_all(week, RULES["due"](week))[0].plan()


def drawn(week: Week, plan: Plan) -> ET.Element:
    return ET.fromstring(plan_svg(week, plan))  # noqa: S314 -- our own


@given(st.integers(0, 1000), st.integers(1, 6))
def test_well_formed_and_nothing_outside(seed: int, jobs: int) -> None:
    week, plan = planned(jobs, seed)
    root = drawn(week, plan)
    _, _, width, height = map(float, root.attrib["viewBox"].split())
    for rect in root.iter(f"{SVG}rect"):
        x, y = float(rect.get("x", 0)), float(rect.get("y", 0))
        assert 0 <= x <= x + float(rect.attrib["width"]) <= width
        assert 0 <= y <= y + float(rect.attrib["height"]) <= height


def test_a_ribbon_for_each_vehicle_with_the_patterns_of_its_work() -> None:
    week, plan = planned(5, 3)
    groups = [g for g in drawn(week, plan).iter(f"{SVG}g") if g.find(f"{SVG}title") is not None]
    assert [g.findtext(f"{SVG}title", "").split(":")[0] for g in groups] == [
        job.id for job in week.jobs
    ]
    for group, job in zip(groups, week.jobs, strict=True):
        fills = {rect.attrib["fill"] for rect in group.iter(f"{SVG}rect")}
        assert {f"url(#plan-{kind_of(op)})" for op in job.ops} <= fills


def test_late_is_said_in_words_and_with_a_mark() -> None:
    week, plan = planned(5, 3)
    job = replace(week.jobs[0], due=visits(week, plan)[0].end - 135)
    late = replace(week, jobs=(job, *week.jobs[1:]))
    told = "".join(drawn(late, plan).itertext())
    assert f"× {job.id} late 2 h 15 min" in told
    assert f"{job.id}: arrives" in told
    assert "late by 2 h 15 min" in told
    on_time = replace(week, jobs=tuple(replace(one, due=900_000) for one in week.jobs))
    told = "".join(drawn(on_time, plan).itertext())
    assert "✓ none late" in told
    assert "×" not in told


def test_an_impossible_week_is_the_empty_shop_with_the_reasons() -> None:
    week = replace(random_week(2, 1), name="<&\x00\ud800")
    plan = Plan(PlanStatus.IMPOSSIBLE, reasons=("no bay can do “wash” & more",))
    root = drawn(week, plan)
    assert "no bay can do “wash” & more" in "".join(root.itertext())
    assert root.findall(f".//{SVG}rect[@class='stay']") == []
    plan_svg(week, plan).encode("utf-8")


def test_no_script_and_both_colour_schemes() -> None:
    text = plan_svg(*planned(3, 1))
    assert "prefers-color-scheme: dark" in text
    assert not re.search(r"<script|href|\son\w+=|@import|url\((?!#)", text)


def test_the_axis_only_runs_forward_and_nights_are_narrow() -> None:
    week, plan = planned(4, 2)
    axis = plan_axis(week, plan, 100)
    places = [axis.x(minute) for minute in range(0, axis.days * DAY_MINUTES + 1, 15)]
    assert places[0] == 100
    assert all(a < b for a, b in pairwise(places))
    # Monday: the first works from 7:00, the doors close at 18:00, the last leaves at 18:30.
    assert axis.open_spans[0] == (420, 1110)
    an_hour, at_night = axis.x(660) - axis.x(600), axis.x(120) - axis.x(60)
    assert at_night == pytest.approx(an_hour * CLOSED_SHARE)


def test_lanes_kinds_and_durations() -> None:
    assert lanes([(0, 2, "a"), (1, 3, "b"), (2, 4, "c")]) == [(0, "a"), (1, "b"), (0, "c")]
    cure = Operation("o", "coat", (Mode(60),))
    assert kind_of(cure) == "cure"
    assert kind_of(replace(cure, crew=1, skill="coat")) == "coating"
    assert kind_of(replace(cure, crew=1, skill="inspect", spot_cap="check")) == "other"
    assert [duration(m) for m in (0, 59, 60, 1441)] == ["0 min", "59 min", "1 h", "1 d 1 min"]
