"""The pictures are sound SVG, on one scale, and say in words what they show."""

from xml.dom import minidom

from estimating.core.svg import film_scale, film_strip, film_strips, finish_curve, sheet
from tests.estimating.core.cases import document, estimated, panel, scratch, swirls

FOUND = document(
    panel("hood", 4.5, [swirls(), scratch(3.9)]),
    panel("roof", 9.4),
    panel("front_bumper", substrate="composite"),
)


def parsed(picture):
    return minidom.parseString(picture)  # noqa: S318 - our own picture


def classes(picture):
    nodes = parsed(picture).getElementsByTagName("*")
    return [node.getAttribute("class") for node in nodes]


def said(picture):
    return parsed(picture).getElementsByTagName("desc")[0].firstChild.data


def test_a_strip_has_a_tick_for_each_reading_and_each_spot_and_the_local_reading():
    found = classes(film_strips(estimated(FOUND))["hood"])
    assert found.count("reading") == 9 + 3
    assert found.count("local") == 2
    assert {"floor", "reserve", "takes", "leaves"} <= set(found)


def test_strips_say_what_they_show():
    strips = film_strips(estimated(FOUND))
    assert "planned: takes 0.28 mil" in said(strips["hood"])
    assert "clear coat unknown" in said(strips["roof"])
    assert "No gauge reading" in said(strips["front_bumper"])


def test_all_strips_share_one_scale_that_a_refinished_panel_does_not_stretch():
    found = estimated(FOUND)
    scale = film_scale(found.panels, found.policy, "mil")
    assert scale.high_um < 6 * 25.4
    assert film_strip(found.panels[0], found.policy, scale) == film_strips(found)["hood"]


def test_the_curve_rings_one_plan_and_draws_the_cap():
    found = estimated(document(panel(), goal={"price_cap": 300}))
    picture = finish_curve(found.curve, found.currency, found.goal.price_cap)
    names = classes(picture)
    assert (names.count("ring"), names.count("cap")) == (1, 1)
    assert names.count("plan") == len(found.curve)
    circles = parsed(picture).getElementsByTagName("circle")
    assert all(12 < float(circle.getAttribute("cx")) < 640 for circle in circles)


def test_the_sheet_holds_all_pictures():
    found = estimated(FOUND)
    inner = parsed(sheet(found)).getElementsByTagName("svg")
    assert len(inner) == 1 + len(found.panels) + 1
