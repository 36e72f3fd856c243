"""Slips between two spellings, counted by hand."""

import pytest

from shop.near import folded, slips, slips_allowed


@pytest.mark.parametrize(
    ("typed", "text", "far"),
    [
        ("marlow", "marlow", 0),
        ("marl", "marlow", 0),  # still typing
        ("marlwo", "marlow", 1),  # two letters changed places
        ("marow", "marlow", 1),  # one too few
        ("marrlow", "marlow", 1),  # one too many
        ("narlow", "marlow", 1),  # another one
        ("qwill", "quill", 1),
        ("marlow", "quill", 5),  # m, a, r are others, the l fits, o and w are too many
        ("", "quill", 0),
    ],
)
def test_slips_to_a_beginning(typed, text, far):
    assert slips(typed, text) == far


@pytest.mark.parametrize(("typed", "far"), [("5550143", 0), ("5550134", 1), ("5559143", 1)])
def test_slips_inside_a_number(typed, far):
    assert slips(typed, "12025550143", inside=True) == far


def test_accents_and_capitals_are_no_slips():
    assert folded("Désirée ÅS") == "desiree as"


def test_short_words_are_forgiven_nothing():
    assert [slips_allowed(length) for length in (2, 3, 6, 7, 20)] == [0, 1, 1, 2, 2]
