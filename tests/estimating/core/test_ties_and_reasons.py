"""Twins are treated alike where it costs nothing, and the choice is explained."""

from typing import Any

from estimating.core.explain import explain
from estimating.core.result import CurvePoint
from estimating.core.tidy import changes_of_level, without_patchwork
from estimating.core.why import why_not
from tests.estimating.core.cases import TERMS, catalogue, document, estimated, panel, swirls

SIDES = ["front_left_door", "rear_left_door", "front_right_door", "rear_right_door"]


def test_levels_go_to_one_side_rather_than_to_a_patchwork():
    class Way:
        def __init__(self, code):
            self.level = type("Level", (), {"code": code})
            self.cost, self.gain, self.with_spot_work = 100, 1.0, True

    class Case:
        def __init__(self, name):
            self.finding = type("Finding", (), {"panel": name})
            self.candidates = (Way("single"), Way("two"))

    given: Any = type("Given", (), {"catalogue": catalogue()})
    cases: Any = [Case(name) for name in SIDES]
    # Neighbours: the two doors of each side. Marks as a patchwork: two changes.
    pairs = [(0, 1), (2, 3)]
    assert changes_of_level(cases, (0, 1, 0, 1), pairs) == 2
    found = without_patchwork(cases, (0, 1, 0, 1), given)
    assert sorted(found) == [0, 0, 1, 1]
    assert changes_of_level(cases, found, pairs) == 0


def test_tidying_changes_neither_share_nor_price():
    same = [panel(name, 4.5, [swirls("moderate")]) for name in SIDES]
    found = estimated(document(*same, goal={"cleared": 0.65}))
    assert found.cleared >= 0.65
    chosen = next(point for point in found.curve if point.chosen)
    assert (chosen.cleared, chosen.price) == (found.cleared, found.likely.shown)


def curve(*points):
    return tuple(
        CurvePoint(share, price, (("hood", level),), chosen)
        for share, price, level, chosen in points
    )


def test_neighbours_on_the_curve_are_named_with_the_difference():
    goal = estimated(document(panel())).goal
    steps = curve((0.4, 300, "none", False), (0.65, 400, "single", True), (0.9, 700, "two", False))
    cheaper, dearer = why_not(steps, goal, "USD")
    assert "falls short of the 60% asked for (hood single → none)" in cheaper
    assert "it adds 25.0% that was not asked for (hood single → two)" in dearer


def test_the_explanation_holds_the_figures_of_the_estimate():
    found = estimated(document(panel(film=4.5), panel("front_bumper", substrate="composite")))
    page = explain(found, catalogue(), TERMS)
    assert f"total       {found.cost.total}" in page
    assert "4.50 mil − 3.00 mil − 0.20 mil = 1.30 mil" in page
    assert max(map(len, page.splitlines())) <= 96
