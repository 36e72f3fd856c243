"""A job placed quickly keeps every rule, and never ends before the proven earliest end."""

from dataclasses import replace

import pytest

from scheduling.core.board import index_of
from scheduling.core.earliest import earliest_fit
from scheduling.core.insertion import job_chain
from scheduling.core.problem import CrewMember, Frozen, Job, Mode, Operation, Spot, Week
from scheduling.core.sketch import Sketch
from tests.scheduling.core.sketches import assert_sound, sketch_of, timetable_of
from tests.scheduling.core.weeks import random_week


@pytest.mark.parametrize("seed", range(1, 13))
def test_any_order_is_valid(seed: int) -> None:
    sketch = sketch_of(random_week(10, seed), seed=seed)
    assert sketch.standing.unplaced == 0
    assert_sound(sketch)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_no_parking_and_closures(seed: int) -> None:
    week = random_week(8, seed)
    spots = [spot for spot in week.spots if spot.id != "lot"]
    spots[1] = replace(spots[1], closures=((1440, 2880),))
    assert_sound(sketch_of(replace(week, spots=tuple(spots)), seed=seed))


def test_ends_at_the_proven_earliest_mostly_and_never_before() -> None:
    met = tried = 0
    for seed in (1, 2, 3, 4):
        week = random_week(12, seed)
        sketch = Sketch(timetable_of(week))
        for job in week.jobs:
            index = index_of(sketch.timetable, list(sketch.placed.values()))
            exact = earliest_fit(job_chain(job, {}), index, not_before=job.release)
            assert sketch.insert(job.id)
            end = sketch.placed[job.id].end * week.grid
            assert end >= exact.end
            met += end == exact.end
            tried += 1
    assert met >= 0.8 * tried


def test_frozen_is_kept() -> None:
    week = random_week(6, 2)
    first = assert_sound(sketch_of(week))
    kept = {
        op.id: Frozen(start=first.ops[op.id].start, spot=first.ops[op.id].spot)
        for job in week.jobs[:2]
        for op in job.ops
    }
    kept[week.jobs[2].ops[0].id] = Frozen(crew=first.ops[week.jobs[2].ops[0].id].crew)
    frozen = replace(week, frozen=kept)
    assert_sound(sketch_of(frozen, [job.id for job in week.jobs]))


def test_no_spot_with_the_capability_finds_no_place() -> None:
    week = random_week(2, 1)
    spots = tuple(spot for spot in week.spots if "wash" not in spot.caps)
    sketch = Sketch(timetable_of(replace(week, spots=(*spots, Spot("other")))))
    assert not sketch.insert(week.jobs[0].id)
    assert sketch.placed == {}


def test_a_budget_below_the_cost_leaves_it_out() -> None:
    sketch = sketch_of(random_week(4, 1))
    placed = sketch.take_out("J1")
    assert not sketch.insert("J1", placed.cost - 0.5)
    assert sketch.insert("J1", placed.cost)
    assert sketch.placed["J1"].cost == placed.cost


def test_work_is_not_put_off_so_late_that_parking_is_closed() -> None:
    """Polish may end at any time, but the lot, where the check is, is entered until 480 only."""
    polish = Operation("A1", "polish", (Mode(60),), crew=1, skill="polish")
    check = Operation("A2", "check", (Mode(30),), crew=1, skill="check")
    week = Week(
        grid=30,
        horizon=600,
        spots=(Spot("bay", frozenset({"polish"})), Spot("lot", frozenset({"check"}), park=True)),
        crew=(
            CrewMember("P", "day", frozenset({"polish"})),
            CrewMember("C", "evening", frozenset({"check"})),
        ),
        calendars={"day": ((0, 600),), "evening": ((540, 600),)},
        opening=((0, 480),),
        jobs=(Job("A", (polish, check), due=600),),
    )
    plan = assert_sound(sketch_of(week))
    assert plan.ops["A2"].end == 570
    assert plan.waits["A"] == ("lot",)
