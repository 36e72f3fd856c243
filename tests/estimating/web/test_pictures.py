"""Places in the two pictures."""

from decimal import Decimal

import pytest

from estimating.core.result import CurvePoint
from estimating.core.svg_strip import FilmScale
from estimating.services.estimates import estimate_without_shop
from estimating.web.pictures import curve_of, percent, strips_of, ticks_of
from tests.factories import document, fender


def points(count, chosen=1):
    return [
        CurvePoint(index / count, Decimal(100 * index), (), index == chosen)
        for index in range(count)
    ]


def test_one_scale_for_all_strips_and_a_refinished_panel_does_not_stretch_it():
    thick = fender(panel="hood", spots=[[12.1, 12.0, 12.2]])
    strips = strips_of(estimate_without_shop(document=document(panels=[fender(), thick])))
    alone = strips_of(estimate_without_shop(document=document(panels=[fender()])))
    assert strips["hood"].state == "refinished"
    assert strips["hood"].floor_x == strips["front_left_fender"].floor_x
    assert strips["front_left_fender"].ticks == alone["front_left_fender"].ticks


def test_parts_of_a_strip_stand_in_the_order_of_their_film():
    strip = strips_of(estimate_without_shop(document=document()))["front_left_fender"]
    assert strip.floor_x < min(mark.x for mark in strip.readings)
    drawn = (strip.removal_to, strip.removal_from, strip.left_from, strip.left_to)
    removal_to, removal_from, left_from, left_to = (x for x in drawn if x is not None)
    assert removal_to < removal_from
    assert left_from < left_to
    assert len(strip.means) == 2
    assert len(strip.readings) == 6


def test_percent_is_linear_and_held_inside():
    scale = FilmScale(low_um=50.8, high_um=101.6, step_um=25.4, unit="mil")
    assert percent(scale, 76.2) == pytest.approx(50.0)
    assert (percent(scale, 0.0), percent(scale, 999.0)) == (0.0, 100.0)
    assert ticks_of(scale) == [(50.0, "3.0")]


def test_the_curve_rises_to_the_right_and_rings_the_chosen():
    curve = curve_of(points(5, chosen=3))
    assert [step.chosen for step in curve.steps] == [False, False, False, True, False]
    assert [step.x for step in curve.steps] == sorted(step.x for step in curve.steps)
    assert [step.y for step in curve.steps] == sorted((s.y for s in curve.steps), reverse=True)
    assert curve.limit_y == curve.steps[-1].y


def test_a_long_curve_can_still_be_hit_with_a_finger():
    curve = curve_of(points(400, chosen=123))
    linked = [index for index, step in enumerate(curve.steps) if step.link]
    assert len(linked) <= 25
    assert {0, 123, 399} <= set(linked)


def test_asking_for_a_steps_share_finds_that_step():
    curve = curve_of(points(7))
    for step in curve.steps:
        assert 0 <= step.cleared - step.percent / 100 < 0.001


def test_a_cap_folds_the_curve_where_it_is():
    folded = curve_of(points(5), cap=Decimal(200))
    assert folded.fold_x == folded.steps[2].x
    assert curve_of(points(5)).fold_x is None


def test_one_plan_is_no_choice():
    assert curve_of(points(1)) is None


def test_money_is_marked_at_round_amounts_within_the_curve():
    curve = curve_of(
        [CurvePoint(0.1, Decimal(137), (), False), CurvePoint(0.9, Decimal(2950), (), True)]
    )
    amounts = [amount for _, amount in curve.money_ticks]
    assert 2 <= len(amounts) <= 4
    assert all(amount % 100 == 0 and 137 <= amount <= 2950 for amount in amounts)
