"""Mil or micrometres in a file: the same plan, hours and money come out."""

import copy

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.estimating.core.cases import document, panel, scratch, swirls, written

UM_PER_MIL = 25.4


def in_um(source):
    """The same inspection with every film written in micrometres."""
    made = copy.deepcopy(source)
    made["unit"] = "um"
    for found in made["panels"]:
        found["spots"] = [[value * UM_PER_MIL for value in spot] for spot in found["spots"]]
        for defect in found["defects"]:
            if "local_reading" in defect:
                defect["local_reading"] *= UM_PER_MIL
    for key in ("floor", "reserve"):
        made["policy"][key] *= UM_PER_MIL
    return made


@settings(max_examples=10, deadline=None)
@given(film=st.floats(3.0, 10.0).map(lambda value: round(value, 2)), deep=st.booleans())
def test_same_plan_in_both_units(film, deep):
    defects = [swirls("moderate"), *([scratch(round(film - 0.4, 2))] if deep else [])]
    source = document(
        panel(film=film, defects=defects),
        policy={"floor": 3.0, "reserve": 0.2, "max_risk": 0.05},
    )
    mil, um = written(source), written(in_um(source))
    for key in ("hours", "cost", "price", "materials", "cleared", "finish_curve"):
        assert mil[key] == um[key]
    for one, other in zip(mil["panels"], um["panels"], strict=True):
        for key in ("condition", "level", "risk", "spot_work", "cleared"):
            assert one[key] == other[key]


def test_film_is_written_in_the_unit_of_the_file():
    source = document(panel(), policy={"floor": 3.0, "reserve": 0.2, "max_risk": 0.05})
    mil, um = written(source)["panels"][0], written(in_um(source))["panels"][0]
    for key in ("budget", "removal", "remaining_p05"):
        assert um[key] == pytest.approx(mil[key] * UM_PER_MIL, rel=1e-3)
