"""What the trade knows must come out of the tables (common practice, no source)."""

import pytest

from tests.estimating.core.cases import document, estimated, panel, scratch, swirls, written


def test_single_stage_clears_60_to_70_percent_of_light_swirls():
    found = written(document(panel()))
    assert found["panels"][0]["level"] == "single"
    assert 0.60 <= found["panels"][0]["cleared"] <= 0.70


def test_new_vehicle_at_3_9_mil_with_light_swirls_takes_a_single_stage():
    found = document(panel(film=3.9), vehicle={"body": "sedan", "age_months": 1})
    assert written(found)["panels"][0]["level"] == "single"


@pytest.mark.parametrize("goal", [{"cleared": 0.0}, {"cleared": 0.6}, {"safest_best": True}])
def test_scratch_to_3_5_mil_needs_spot_work_whatever_the_level(goal):
    plan = written(document(panel(defects=[swirls(), scratch(3.5)]), goal=goal))["panels"][0]
    assert [work["method"] in {"sand", "fill"} for work in plan["spot_work"]] == [True]


def test_scratch_to_3_5_mil_is_sanded_under_a_single_stage_as_the_film_stays_above_the_floor():
    plan = written(document(panel(defects=[swirls(), scratch(3.5)])))["panels"][0]
    assert plan["level"] == "single"
    assert plan["spot_work"] == [{"kind": "deep_scratch", "method": "sand", "count": 1}]


def test_scratch_close_to_the_floor_is_filled_before_it_is_sanded():
    plan = estimated(document(panel(defects=[scratch(3.2)]))).panels[0]
    assert plan.spot_work[0].method == "fill"
    assert "fill, then sand, compound, polish" in plan.spot_work[0].reason


def test_scratch_through_the_colour_is_left():
    plan = estimated(document(panel(defects=[scratch(1.5)]))).panels[0]
    assert plan.spot_work[0].method == "leave"
    assert "through the colour" in plan.spot_work[0].reason


def test_panel_at_9_4_mil_has_been_refinished_and_has_no_budget_without_a_test_spot():
    found = written(document(panel(film=9.4)))
    plan = found["panels"][0]
    assert (plan["condition"], plan["budget"], plan["level"]) == ("refinished", None, "none")
    assert any("test spot" in warning for warning in found["warnings"])


@pytest.mark.parametrize("age_months", [24, 30, 35])
def test_vehicle_of_two_to_three_years_usually_needs_two_stages_or_more(age_months):
    vehicle = {"body": "sedan", "age_months": age_months}
    hood = written(document(vehicle=vehicle))["panels"][0]
    assert hood["level"] in {"two", "multi"}


def test_two_stage_is_a_compound_and_then_a_polish():
    plan = estimated(document(panel(defects=[swirls("moderate")]), goal={"cleared": 0.8}))
    assert plan.panels[0].level == "two"
    assert [row.name for row in plan.panels[0].effect.passes] == ["compound", "polish"]


@pytest.mark.parametrize(("severity", "level"), [("light", "single"), ("moderate", "two")])
def test_sanding_marks_come_out_with_one_or_two_stages(severity, level):
    marks = [{"kind": "sanding_marks", "severity": severity, "extent": 0.3}]
    plan = written(document(panel(defects=marks), goal={"cleared": 0.85}))["panels"][0]
    assert (plan["level"], plan["cleared"] >= 0.85) == (level, True)


def test_etching_is_a_defect_of_its_own_and_is_worked_one_by_one():
    marks = [{"kind": "etching", "severity": "moderate", "count": 4}]
    plan = written(document(panel(defects=marks)))["panels"][0]
    assert plan["spot_work"] == [{"kind": "etching", "method": "sand", "count": 4}]


def test_gloss_black_trim_swirls_even_when_the_vehicle_is_new():
    found = estimated(document(vehicle={"body": "sedan", "age_months": 0}))
    trim = {plan.panel: plan.defects for plan in found.panels if plan.panel.endswith("_trim")}
    assert set(trim) == {"grille_trim", "pillar_trim"}
    assert all(defects[0].kind == "swirl_marks" for defects in trim.values())
