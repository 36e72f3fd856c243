"""The sample inspections are read and estimated, each for what it is there to show."""

import pytest

from estimating.core.catalogue import catalogue_from_dict, catalogue_to_dict
from estimating.core.estimate import estimate
from estimating.core.formats import read_inspection
from tests.estimating.core.cases import FIXTURES, TERMS, catalogue


def sample(name):
    text = (FIXTURES / "inspections" / f"{name}.json").read_text(encoding="utf-8")
    return estimate(read_inspection(text), catalogue(), TERMS)


def levels(name):
    return {plan.panel: plan.level for plan in sample(name).panels}


def test_new_pickup_is_corrected_but_for_its_refinished_tailgate():
    by_name = {plan.panel: plan for plan in sample("pickup_new").panels}
    assert by_name["hood"].level == "single"
    assert (by_name["tailgate"].condition, by_name["tailgate"].level) == ("refinished", "none")
    assert by_name["front_left_door"].spot_work[0].method == "sand"


def test_older_sedan_leaves_its_refinished_and_its_thin_panel_alone():
    found = levels("older_sedan")
    assert (found["front_right_fender"], found["rear_left_quarter"]) == ("none", "none")


def test_price_cap_is_kept():
    assert sample("metric_suv_price_cap").likely.shown <= 700


def test_test_spot_lets_a_refinished_roof_be_corrected():
    assert levels("test_spot_hatchback")["roof"] == "two"


def test_phone_quote_asks_what_is_not_known():
    codes = {question.code for question in sample("phone_wagon").questions}
    assert codes == {"colour", "previous_correction"}


@pytest.mark.parametrize("path", sorted((FIXTURES / "inspections").glob("*.json")), ids=str)
def test_every_sample_is_estimated(path):
    found = estimate(read_inspection(path.read_bytes()), catalogue(), TERMS)
    assert found.minutes.p50 > 0


def test_the_catalogue_survives_a_round_trip():
    assert catalogue_from_dict(catalogue_to_dict(catalogue())) == catalogue()
