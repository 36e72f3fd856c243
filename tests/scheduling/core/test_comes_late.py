"""A vehicle comes as late as its work allows, past another that is in its bay meanwhile."""

from collections.abc import Sequence
from dataclasses import replace

import pytest

from scheduling.core.problem import CrewMember, Job, Mode, Operation, Plan, Spot, Week
from scheduling.core.sketch import Sketch
from tests.scheduling.core.sketches import assert_sound, timetable_of

DAY = ((0, 1440),)
WASH = Operation("A1", "wash", (Mode(60),), crew=1, skill="wash")
WIPE = Operation("A2", "wash", (Mode(60),), crew=1, skill="wash", same_spot=True)
POLISH = Operation("A3", "polish", (Mode(60),), crew=1, skill="polish")
WEEK = Week(
    grid=60,
    horizon=1440,
    spots=(
        Spot("wash", frozenset({"wash"})),
        Spot("bay", frozenset({"polish"})),
        Spot("lot", park=True, capacity=4),
    ),
    crew=tuple(CrewMember(one, "day", frozenset({"wash", "polish"})) for one in "TUV"),
    calendars={"day": DAY},
    opening=DAY,
    jobs=(
        Job("A", (WASH, WIPE, POLISH)),
        Job("B", (replace(WASH, id="B1", modes=(Mode(120),)),), release=240),
        Job("C", (replace(POLISH, id="C1", modes=(Mode(600),)),)),
    ),
)
"""The bay is taken until 600, and the wash from 240 to 360."""


def plan_of(week: Week, order: Sequence[str], *, together: bool) -> Plan:
    sketch = Sketch(timetable_of(week))
    sketch.placer.together = together
    for job_id in order:
        assert sketch.insert(job_id)
    return assert_sound(sketch)


@pytest.mark.parametrize(("together", "start"), [(True, 480), (False, 0)])
def test_past_another_in_the_wash(together: bool, start: int) -> None:
    plan = plan_of(WEEK, "CBA", together=together)
    assert plan.ops["A1"].start == start
    assert plan.ops["A3"].start == 600


def test_no_later_than_a_lag_allows() -> None:
    """Who washes is there until 120 only, and the wipe follows within two hours."""
    washer = CrewMember("T", "early", frozenset({"wash"}))
    wiper, polisher = (
        CrewMember(one, "day", frozenset({skill}))
        for one, skill in (("U", "wipe"), ("V", "polish"))
    )
    wipe = replace(WIPE, skill="wipe", lag_max=120)
    week = replace(
        WEEK,
        crew=(washer, wiper, polisher),
        calendars={"day": DAY, "early": ((0, 120),)},
        jobs=(replace(WEEK.jobs[0], ops=(WASH, wipe, POLISH)), WEEK.jobs[2]),
    )
    plan = plan_of(week, ("C", "A"), together=True)
    assert plan.ops["A1"].start == 60
    assert plan.ops["A2"].start == 240


def test_goes_before_the_other_where_there_is_no_room_after_it() -> None:
    """The wash is closed from 360 on: then it comes just before 240."""
    spots = (replace(WEEK.spots[0], closures=((360, 600),)), *WEEK.spots[1:])
    plan = plan_of(replace(WEEK, spots=spots), "CBA", together=True)
    assert plan.ops["A1"].start == 120
