"""A catalogue that contradicts itself is refused with the table and the rule."""

import copy

import pytest

from estimating.core.catalogue import catalogue_from_dict, catalogue_to_dict
from estimating.core.checks import RuleBroken
from tests.estimating.core.cases import catalogue

GOOD = catalogue_to_dict(catalogue())


def changed(table, row, **values):
    made = copy.deepcopy(GOOD)
    target = made[table] if row is None else made[table][row]
    target.update(values)
    return made


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (changed("passes", 0, removal_um=-1), r"passes\[0\].*removal_um"),
        (changed("passes", 0, removal_um=True), r"passes\[0\].*number"),
        (changed("passes", 0, product="wax"), "passes.product 'wax'"),
        (changed("passes", 0, speed=3), "unknown: speed"),
        (changed("bodies", 1, code="coupe"), "bodies has coupe twice"),
        (changed("prior_shares", 0, share=0.9), "age band new must add up to 1"),
        (changed("consumables", 0, unit_cost=0.04), "money is written as text"),
        (changed("film", None, thin_um=500.0), "levels must rise"),
        (changed("policy", None, max_risk=0), "max_risk"),
        ({**GOOD, "format": "halfmil-catalogue/2"}, "format"),
        ({**GOOD, "extras": []}, "unknown tables: extras"),
        ({key: value for key, value in GOOD.items() if key != "levels"}, "levels is missing"),
    ],
)
def test_refused(data, said):
    with pytest.raises(RuleBroken, match=said):
        catalogue_from_dict(data)


def test_a_setting_with_a_default_may_be_missing_in_an_older_snapshot():
    made = copy.deepcopy(GOOD)
    del made["film"]["rate_sd_share"]
    assert catalogue_from_dict(made) == catalogue()
