"""Panels are judged by level and by a robust outlier test, and the rule is named."""

import pytest

from tests.estimating.core.cases import document, estimated, panel, written

NAMES = ["hood", "roof", "trunk_lid", "front_left_door", "front_right_door", "rear_left_door"]


def judged(*films, **changes):
    """State and rule of the last panel of a vehicle with these films in mil."""
    made = [panel(name, film) for name, film in zip(NAMES, films, strict=False)]
    made[-1] |= changes
    plan = estimated(document(*made)).panels[-1]
    return plan.condition, plan.rule


def test_a_panel_that_stands_out_has_been_refinished_though_below_the_absolute_level():
    state, rule = judged(4.3, 4.35, 4.3, 4.4, 6.6)
    assert (state, "modified z" in rule) == ("refinished", True)


def test_the_same_panel_among_even_panels_is_not_judged_by_two_others():
    assert judged(4.3, 4.4, 6.6)[0] == "original"


def test_a_panel_refinished_in_part_is_found_by_its_own_spots():
    state, rule = judged(4.4, spots=[[4.3] * 3, [4.4] * 3, [6.4] * 3])
    assert (state, "part of the panel" in rule) == ("refinished", True)


@pytest.mark.parametrize(("film", "rule"), [(2.7, "is under 2.76 mil"), (3.15, "leaves nothing")])
def test_a_thin_panel_names_its_rule(film, rule):
    state, said = judged(film)
    assert (state, rule in said) == ("thin", True)


def test_protection_film_makes_readings_unusable():
    state, rule = judged(4.4, 11.0, covered=True)
    assert (state, "protection film" in rule) == ("unreadable", True)


def test_unusual_findings_are_named():
    hood = panel("hood", spots=[[4.6] * 3, [4.6] * 3, [3.9] * 3, [4.7] * 3])
    door = panel("front_left_door", 4.5, substrate="aluminium")
    roof = panel("roof", spots=[[30.0] * 3])
    warnings = " ".join(written(document(hood, door, roof))["warnings"])
    for words in ("one low spot", "Aluminium beside steel", "filler is suspected"):
        assert words in warnings


def test_few_spots_are_named():
    found = written(document(panel(spots=[[4.5] * 3])))
    assert "1 spot on 1.6 m²: too few, 5 give a fair picture" in found["warnings"]


def test_film_used_over_the_years_is_told():
    hood = panel("hood", 4.2) | {"earlier": [{"months_ago": 24, "film": 4.6}]}
    reasons = " ".join(written(document(hood))["panels"][0]["reasons"])
    assert "0.40 mil used in 24 months (0.20 mil a year)" in reasons
    assert "services like this one" in reasons


def test_edges_are_reserved_where_the_budget_is_small():
    reasons = " ".join(written(document(panel("hood", 3.32)))["panels"][0]["reasons"])
    assert "edges and body lines: no budget" in reasons
