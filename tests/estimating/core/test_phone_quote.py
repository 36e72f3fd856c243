"""Before an inspection: age and answers give a wide range, and answers narrow it."""

import pytest

from estimating.core.prior import expectation
from tests.estimating.core.cases import catalogue, document, estimated


def phoned(age_months=30, **answers):
    return estimated(document(vehicle={"body": "sedan", "age_months": age_months, **answers}))


def test_the_whole_panel_set_of_the_body_is_planned():
    expected = [row.panel for row in catalogue().body_panels if row.body == "sedan"]
    assert [plan.panel for plan in phoned().panels] == expected


def test_usually_two_stages_or_more_at_two_to_three_years():
    odds = dict(expectation(catalogue(), 30, {}).grades)
    assert odds["moderate"] + odds["heavy"] > 0.6


@pytest.mark.parametrize(
    ("question", "mild", "harsh"),
    [("storage", "garage", "street"), ("wash_habit", "hand", "brushes")],
)
def test_habits_move_the_odds(question, mild, harsh):
    def heavy(answer):
        return dict(expectation(catalogue(), 30, {question: answer}).grades)["heavy"]

    unknown = dict(expectation(catalogue(), 30, {}).grades)["heavy"]
    assert heavy(mild) < unknown < heavy(harsh)


def test_odds_add_up_and_an_older_vehicle_has_less_film():
    new, old = (expectation(catalogue(), months, {}) for months in (0, 120))
    assert sum(chance for _, chance in old.grades) == pytest.approx(1.0)
    assert old.film_um < new.film_um


def test_the_phone_range_is_wider_than_that_of_an_inspection():
    found = phoned()
    seen = estimated(document(*_seen()))
    assert _width(found) > _width(seen)


def _width(found):
    return float((found.high.shown - found.low.shown) / found.likely.shown)


def _seen():
    from_prior = [plan for plan in phoned().panels if plan.substrate == "steel"]
    return [
        {
            "panel": plan.panel,
            "substrate": "steel",
            "spots": [[4.6] * 3] * 2,
            "defects": [{"kind": "swirl_marks", "severity": "moderate", "extent": 0.75}],
        }
        for plan in from_prior
    ]


def test_open_questions_come_with_the_most_useful_first():
    questions = phoned().questions
    gains = [question.narrows for question in questions]
    assert {question.code for question in questions} == {
        row.code for row in catalogue().prior_questions
    }
    assert gains == sorted(gains, reverse=True)
    assert gains[0] > 0


def test_an_answered_question_is_not_asked_again():
    codes = [question.code for question in phoned(storage="garage").questions]
    assert "storage" not in codes
