"""A test spot teaches the paint's rates, and the plan is worked out again."""

import math

import pytest

from estimating.core.trial import normal_update
from tests.estimating.core.cases import document, estimated, panel, swirls, written


def trial(before, after, level="single", **more):
    return {"level": level, "before": [[before] * 3] * 4, "after": [[after] * 3] * 4, **more}


def removal(film_taken_um):
    hood = panel("hood", 120.0, [swirls()])
    hood["test_spot"] = trial(120.0, 120.0 - film_taken_um)
    return estimated(document(hood, unit="um", goal={"cleared": 0.2})).panels[0].removal_um


def test_soft_paint_is_expected_to_give_more_and_hard_paint_less():
    assert removal(0.5) < removal(1.5) < removal(3.0)
    assert removal(1.5) == pytest.approx(1.5)


def test_the_learned_rate_lies_between_table_and_trial():
    assert 1.5 < removal(3.0) < 3.0


def test_marks_that_clear_badly_ask_for_a_higher_level():
    hood = panel("hood", 4.7, [swirls("light")])
    plain = written(document(hood))["panels"][0]
    hood["test_spot"] = trial(4.7, 4.66, cleared=0.2)
    learned = written(document(hood))
    assert plain["level"] == "single"
    assert learned["panels"][0]["level"] in {"two", "multi"}
    assert any("Test spots" in warning for warning in learned["warnings"])


def test_a_refinished_panel_may_have_what_its_test_spot_stood_and_no_more():
    roof = panel("roof", 9.4, [swirls("heavy")])
    roof["test_spot"] = trial(9.4, 9.24, level="two")
    plan = written(document(roof, goal={"safest_best": True}))["panels"][0]
    assert (plan["condition"], plan["level"]) == ("refinished", "two")
    assert plan["budget"] == plan["removal"]


@pytest.mark.parametrize(
    ("prior", "observed", "expected"),
    [
        # Johnson, Ott, Dogucu, Bayes Rules!, ch. 5: prior N(6.5, 0.4^2), 25 values
        # of mean 5.735 and sigma 0.5.
        ((6.5, 0.4), (5.735, 0.5 / 5), (5.78, math.sqrt(0.009411765))),
        ((100.0, 15.0), (115.0, 10.0), (110.384615, 8.320503)),
    ],
)
def test_normal_update_agrees_with_worked_values(prior, observed, expected):
    assert normal_update(*prior, *observed) == pytest.approx(expected, abs=1e-6)
