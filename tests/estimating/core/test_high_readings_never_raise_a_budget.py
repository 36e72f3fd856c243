"""A reading far above the others is not believed, and never raises a budget."""

import copy

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.estimating.core.cases import document, panel, written

FILM = st.floats(3.6, 6.0).map(lambda value: round(value, 2))


def budgets(source):
    return {plan["panel"]: plan["budget"] for plan in written(source)["panels"]}


@settings(max_examples=6, deadline=None)
@given(
    films=st.lists(FILM, min_size=5, max_size=5),
    noise=st.lists(st.floats(-0.1, 0.1), min_size=3, max_size=3),
    which=st.integers(0, 4),
    new_spot=st.booleans(),
)
def test_no_budget_rises(films, noise, which, new_spot):
    names = ["hood", "roof", "trunk_lid", "front_left_door", "front_right_door"]
    source = document(
        *(
            panel(name, spots=[[round(film + part, 2) for part in noise]] * 2)
            for name, film in zip(names, films, strict=True)
        )
    )
    high = copy.deepcopy(source)
    spots = high["panels"][which]["spots"]
    if new_spot:
        high["panels"][which]["spots"] = [*spots, [20.0, 20.1, 20.0]]
    else:
        high["panels"][which]["spots"] = [[*spots[0], 20.0], *spots[1:]]
    before, after = budgets(source), budgets(high)
    for name in names:
        if after[name] is not None:
            assert before[name] is not None
            assert after[name] <= before[name] + 1e-9


def test_a_reading_set_aside_is_named_in_the_warnings():
    found = written(document(panel(spots=[[4.5, 4.5, 4.6, 9.0]])))
    assert found["panels"][0]["condition"] == "original"
    assert any("set aside" in warning for warning in found["warnings"])
