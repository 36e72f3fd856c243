"""A curve is thinned to what a picture can show, never beside the plan that is chosen."""

import pytest

from estimating.core import select
from estimating.core.inspection import Goal
from estimating.core.why import why_not
from tests.estimating.core.cases import TERMS, document, estimated, panel, swirls

NAMES = (
    "hood", "roof", "trunk_lid", "front_left_fender", "front_left_door", "rear_left_door",
    "front_right_fender", "front_right_door", "rear_right_door", "left_rocker", "right_rocker",
    "rear_left_quarter", "rear_right_quarter", "left_pillar", "right_pillar", "left_mirror",
)  # fmt: skip
SEVERITIES = ("light", "moderate", "heavy")


@pytest.fixture
def large():
    found = [
        panel(name, 4.3 + place / 40, [swirls(SEVERITIES[place % 3], 0.2 + place / 25)])
        for place, name in enumerate(NAMES)
    ]
    return lambda goal: estimated(document(*found, goal=goal))


@pytest.mark.parametrize("cleared", [0.35, 0.6, 0.8])
def test_thinned_but_for_the_steps_beside_the_plan(large, monkeypatch, cleared):
    thinned = large({"cleared": cleared})
    monkeypatch.setattr(select, "_MOST_CURVE_POINTS", 10**6)
    whole = large({"cleared": cleared})
    assert len(thinned.curve) <= 66 < len(whole.curve)
    # Plans are found by expected cost and told by rounded price: within a step of it
    # the order may turn round.
    for point in thinned.curve:
        assert all(
            other.cleared <= point.cleared or other.price > point.price - 2 * TERMS.rounding_step
            for other in whole.curve
        )
    assert (thinned.panels, thinned.likely) == (whole.panels, whole.likely)
    assert thinned.why == whole.why == why_not(whole.curve, Goal(cleared=cleared), "USD")


def test_a_price_cap_is_used_to_the_full_all_the_same(large, monkeypatch):
    thinned = large({"price_cap": 900})
    monkeypatch.setattr(select, "_MOST_CURVE_POINTS", 10**6)
    whole = large({"price_cap": 900})
    assert (thinned.cleared, thinned.likely.shown) == (whole.cleared, whole.likely.shown)
    assert thinned.likely.shown <= 900
