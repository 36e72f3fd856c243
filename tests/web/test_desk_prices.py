"""The desk works the price out with every answer, as a page and as a fragment."""

import re

import pytest
from django.urls import reverse

from tests.factories import NOW

HTMX = {"HX-Request": "true"}


def price(answer):
    """Lowest and highest price in the bar."""
    bar = answer.content.decode().split('id="desk-bar"')[1]
    low, high = re.findall(r"\$([\d,]+)", bar)[:2]
    return int(low.replace(",", "")), int(high.replace(",", ""))


def test_a_call_begins_with_a_range_and_the_next_visit(world, desk, text):
    low, high = price(desk.get(reverse("desk")))
    assert 0 < low < high
    visits = desk.post(reverse("desk_visits"), {})
    assert "drop-off" in text(visits)
    assert visits.context["offers"][0][1].arrives_at >= NOW


def test_a_coating_costs_more(world, desk):
    plain = desk.post(reverse("desk"), {"aim": "cleared", "cleared": "60"})
    coated = desk.post(reverse("desk"), {"aim": "cleared", "cleared": "60", "coating": "lantern"})
    assert price(coated)[0] > price(plain)[0]


def test_a_click_on_the_curve_chooses_its_step(world, desk):
    given = {"vehicle": world.vehicle.pk, "basis": world.inspection.pk, "cleared": "10"}
    first = desk.post(reverse("desk"), given)
    last = first.context["curve"].steps[-1]
    picked = desk.post(reverse("desk"), {**given, "pick": f"{last.percent}"})
    chosen = [step for step in picked.context["curve"].steps if step.chosen]
    assert [step.price for step in chosen] == [last.price]


def test_the_cap_is_the_fold_and_no_plan_is_above_it(world, desk):
    answer = desk.post(reverse("desk"), {"aim": "cap", "cap": "700"})
    assert answer.context["curve"].fold_x is not None
    assert answer.context["estimate"].likely.shown <= 700


def test_an_answer_narrows_the_range(world, desk):
    asked = desk.get(reverse("desk")).context["questions"]["next"]
    wide = price(desk.post(reverse("desk"), {}))
    narrow = price(desk.post(reverse("desk"), {asked.code: asked.answers[0][0]}))
    assert (narrow[1] - narrow[0]) < (wide[1] - wide[0])


def test_htmx_gets_the_content_without_the_frame(world, desk):
    whole = desk.post(reverse("desk"), {}).content.decode()
    piece = desk.post(reverse("desk"), {}, headers=HTMX).content.decode()
    assert "<html" in whole
    assert "<html" not in piece
    assert 'id="desk-bar"' in piece


@pytest.mark.parametrize("said", ["ada", "555-0123", "kx407", "Ada Rowe"])
def test_the_caller_is_found_by_what_they_say(world, desk, text, said):
    assert "Ada Rowe" in text(desk.post(reverse("desk"), {"q": said}))


def test_taking_the_caller_keeps_what_was_chosen(world, desk):
    answer = desk.post(
        reverse("desk"), {"take": world.vehicle.pk, "coating": "lantern", "cleared": "45"}
    )
    form = answer.context["form"]
    assert (form["coating"].value(), form["cleared"].value()) == ("lantern", "45")
    assert answer.context["call"].vehicle == world.vehicle
