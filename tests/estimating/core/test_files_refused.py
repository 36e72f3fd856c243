"""A file that cannot be used is refused with the place, the value and the remedy."""

import copy
import json

import pytest

from estimating.core.errors import InputRefused
from estimating.core.formats import read_inspection
from tests.estimating.core.cases import document, estimated, panel, scratch, swirls

GOOD = document(panel("hood", 4.5, [swirls(), scratch(3.9)]), panel("roof"))


def changed(path, value):
    """The good file with one value put in; `...` takes the key away."""
    made = copy.deepcopy(GOOD)
    place = made
    for step in path[:-1]:
        place = place[step]
    if value is ...:
        del place[path[-1]]
    else:
        place[path[-1]] = value
    return made


HOOD = ("panels", 0)
CASES = [
    (("format",), "halfmil-inspection/2", "$.format"),
    (("unit",), "inch", "$.unit"),
    (("extra",), 1, "$.extra"),
    (("vehicle", "body"), "boat", "$.vehicle.body"),
    (("vehicle", "age_months"), 4.5, "$.vehicle.age_months"),
    (("vehicle", "age_months"), True, "$.vehicle.age_months"),
    (("vehicle", "paint", "hardness"), "brittle", "$.vehicle.paint.hardness"),
    (("vehicle", "storage"), 7, "$.vehicle.storage"),
    (("gauge",), {"repeatability_um": -1}, "$.gauge.repeatability_um"),
    (("policy",), {"floor": 0}, "$.policy.floor"),
    (("policy",), {"max_risk": 0}, "$.policy.max_risk"),
    (("panels",), None, "$.panels"),
    ((*HOOD, "panel"), "bonnet", "$.panels[0].panel"),
    ((*HOOD, "panel"), "roof", "$.panels[1].panel"),
    ((*HOOD, "substrate"), "glass", "$.panels[0].substrate"),
    ((*HOOD, "spots"), [], "$.panels[0].spots"),
    ((*HOOD, "spots", 1), [4.5, 4.5], "$.panels[0].spots[1]"),
    ((*HOOD, "spots", 1, 2), 0, "$.panels[0].spots[1][2]"),
    ((*HOOD, "spots", 1, 2), -4.5, "$.panels[0].spots[1][2]"),
    ((*HOOD, "spots", 1, 2), 90.0, "$.panels[0].spots[1][2]"),
    ((*HOOD, "spots", 1, 2), True, "$.panels[0].spots[1][2]"),
    ((*HOOD, "spots", 1, 2), "4.5", "$.panels[0].spots[1][2]"),
    ((*HOOD, "spots", 1, 2), 10**300, "$.panels[0].spots[1][2]"),
    ((*HOOD, "defects", 0, "kind"), "dent", "$.panels[0].defects[0].kind"),
    ((*HOOD, "defects", 0, "extent"), 1.01, "$.panels[0].defects[0].extent"),
    ((*HOOD, "defects", 0, "extent"), -0.1, "$.panels[0].defects[0].extent"),
    ((*HOOD, "defects", 0, "count"), 2, "$.panels[0].defects[0].count"),
    ((*HOOD, "defects", 0, "severity"), ..., "$.panels[0].defects[0].severity"),
    ((*HOOD, "defects", 1, "extent"), 0.2, "$.panels[0].defects[1].extent"),
    ((*HOOD, "defects", 1, "count"), 0, "$.panels[0].defects[1].count"),
    ((*HOOD, "defects", 1, "local_reading"), 4.6, "$.panels[0].defects[1].local_reading"),
    (("goal",), ..., "$.goal"),
    (("goal",), {}, "$.goal"),
    (("goal",), {"cleared": 0.5, "price_cap": 100}, "$.goal"),
    (("goal",), {"safest_best": False}, "$.goal.safest_best"),
    (("goal",), {"price_cap": -1}, "$.goal.price_cap"),
]


@pytest.mark.parametrize(("path", "value", "place"), CASES)
def test_the_place_is_named(path, value, place):
    with pytest.raises(InputRefused) as refused:
        read_inspection(json.dumps(changed(path, value)))
    found = [(problem.path, problem.remedy != "") for problem in refused.value.problems]
    assert (place, True) in found


def test_the_good_file_is_read():
    assert len(read_inspection(json.dumps(GOOD)).panels) == 2


def test_all_problems_are_told_at_once():
    made = changed(("unit",), "inch")
    made["panels"][1]["panel"] = "bonnet"
    with pytest.raises(InputRefused) as refused:
        read_inspection(made)
    assert {problem.path for problem in refused.value.problems} == {"$.unit", "$.panels[1].panel"}


def test_an_answer_the_catalogue_does_not_know_is_refused_by_the_estimate():
    from_file = changed(("vehicle", "storage"), "shed")
    with pytest.raises(InputRefused, match=r"\$\.vehicle\.storage.*garage"):
        estimated(from_file)
