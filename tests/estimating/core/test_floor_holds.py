"""No plan goes under the floor beyond the risk limit, whatever is asked for."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.estimating.core.cases import catalogue, document, panel, scratch, swirls, written

FILM = st.floats(2.9, 4.4).map(lambda value: round(value, 2))
SPOT = st.lists(FILM, min_size=3, max_size=4)
GOALS = st.sampled_from([{"cleared": 0.9}, {"safest_best": True}, {"price_cap": 700}])


@settings(max_examples=12, deadline=None)
@given(
    spots=st.lists(SPOT, min_size=1, max_size=4),
    limit=st.sampled_from([0.001, 0.05, 0.3]),
    severity=st.sampled_from(["light", "moderate", "heavy"]),
    goal=GOALS,
)
def test_corrected_panels_stay_within_the_risk_limit_and_the_budget(spots, limit, severity, goal):
    policy = {"floor": 3.0, "reserve": 0.2, "max_risk": limit}
    found = written(
        document(panel(spots=spots, defects=[swirls(severity)]), policy=policy, goal=goal)
    )
    plan = found["panels"][0]
    if plan["level"] != "none":
        assert plan["risk"] <= limit
        assert plan["removal"] <= plan["budget"]


@pytest.mark.parametrize("goal", [{"cleared": 0.0}, {"cleared": 0.6}, {"safest_best": True}])
def test_a_sanded_scratch_keeps_floor_and_reserve_at_its_bottom(goal):
    sand = next(row for row in catalogue().spot_methods if row.method == "sand")
    methods = set()
    for step in range(21):
        local = round(3.3 + 0.02 * step, 2)
        found = written(document(panel(defects=[swirls(), scratch(local)]), goal=goal))
        plan = found["panels"][0]
        left = local - plan["removal"] - sand.takes_um / 25.4
        method = plan["spot_work"][0]["method"]
        methods.add(method)
        assert (method == "sand") == (left >= 3.2)
    assert methods == {"sand", "fill"}


def test_over_limit_levels_are_refused_with_the_reason_and_not_softened():
    uneven = [[3.4, 3.4, 3.4], [4.4, 4.4, 4.4], [3.9, 3.9, 3.9]]
    found = written(document(panel(spots=uneven), policy={"max_risk": 0.02}))
    plan = found["panels"][0]
    assert plan["level"] == "none"
    assert any("single-stage refused: chance" in reason for reason in plan["reasons"])
    assert any("The film allows 0.0%" in warning for warning in found["warnings"])
