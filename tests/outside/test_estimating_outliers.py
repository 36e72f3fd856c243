"""Modified z-scores: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17."""

from statistics import median

import pytest

from estimating.core.robust import modified_scores

TIETJEN_MOORE = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]


def test_e_handbook_data():
    # Data of e-Handbook 1.3.5.17.1 (Tietjen and Moore 1972), as quoted; M computed.
    scores = modified_scores(TIETJEN_MOORE)
    assert scores is not None
    assert median(TIETJEN_MOORE) == pytest.approx(201.37)
    assert scores[-1] == pytest.approx(29.96271, abs=1e-5)
    assert all(abs(score) < 1.4 for score in scores[:-1])


def test_two_outliers_cannot_hide_each_other():
    # In the style of Iglewicz and Hoaglin 1993 (from memory); scores computed.
    scores = modified_scores([2.1, 2.6, 2.4, 2.5, 2.3, 2.1, 2.3, 2.6, 8.2, 8.3])
    assert scores is not None
    assert scores[-2:] == pytest.approx([25.8558, 26.3055], abs=1e-4)


def test_one_refinished_panel_among_six():
    scores = modified_scores([110, 112, 109, 111, 113, 110, 240])
    assert scores is not None
    assert scores[-1] == pytest.approx(87.0105, abs=1e-4)
    assert max(abs(score) for score in scores[:-1]) <= 1.349 + 1e-9


def test_more_than_half_alike_falls_back_to_the_mean_deviation():
    scores = modified_scores([110, 110, 110, 110, 240])
    assert scores is not None
    assert scores is not None
    assert scores[-1] > 3.5 > scores[0]


def test_all_alike_gives_no_decision():
    assert modified_scores([110.0] * 5) is None
