"""Readings as people and gauges type them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.web.readings import ReadingsRefused, spots_of, text_of

TWO = [[4.3, 4.2, 4.3], [4.4, 4.4, 4.5]]


@pytest.mark.parametrize(
    "text",
    [
        "4.3 4.2 4.3 / 4.4 4.4 4.5",
        "4.3, 4.2, 4.3; 4.4, 4.4, 4.5",
        "4.3,4.2,4.3/4.4,4.4,4.5",
        "4,3 4,2 4,3 / 4,4 4,4 4,5",
        "4.3\t4.2\t4.3\r\n4.4\t4.4\t4.5\r\n",
        " 4.3mil 4.2 mil 4.3 / 4.4 4.4 4.5 / ",
    ],
)
def test_many_ways_of_typing_two_spots(text):
    assert spots_of(text.replace(" mil", "mil"), "mil") == TWO


def test_a_comma_between_whole_micrometres_parts_two_readings():
    assert spots_of("109,110,111", "um") == [[109.0, 110.0, 111.0]]


def test_nothing_is_no_spot():
    assert spots_of("  / ", "mil") == []


@pytest.mark.parametrize("text", ["4.3 x 4.2", "4.3 nan 4.2", "inf", "4.3.2", "1" * 601])
def test_what_is_no_reading_is_refused(text):
    with pytest.raises(ReadingsRefused):
        spots_of(text, "mil")


def test_the_refusal_names_the_word_and_what_would_be_right():
    with pytest.raises(ReadingsRefused, match=r"“four”.*4\.3 4\.2 4\.3"):
        spots_of("4.1 four 4.2", "mil")


spots = st.lists(
    st.lists(st.integers(1, 2000).map(float), min_size=1, max_size=6), min_size=1, max_size=5
)


@given(spots)
def test_what_is_written_is_read_back(found):
    assert spots_of(text_of(found), "um") == found
