"""Loopholes of JSON text are shut before anything is read from it."""

import json

import pytest

from estimating.core.errors import InputRefused
from estimating.core.formats import read_inspection
from estimating.core.jsontext import parsed
from tests.estimating.core.cases import document, panel

TEXT = json.dumps(document(panel(spots=[[4.5, 4.25, 4.5]])))


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("", "$"),
        ("{", "$"),
        ("[" * 100_000, "$"),
        ('{"a": [' * 50_000, "$"),
        (b"\xff\xfe{}", "$"),
        ('{"a": 1, "a": 2}', "$.a"),
        (TEXT.replace("4.25", "NaN"), "$.panels[0].spots[0][1]"),
        (TEXT.replace("4.25", "-Infinity"), "$.panels[0].spots[0][1]"),
        (TEXT.replace("4.25", "1e999"), "$.panels[0].spots[0][1]"),
        (TEXT.replace("4.25", "9" * 5_000), "$.panels[0].spots[0][1]"),
        ("null", "$"),
        ("[]", "$"),
    ],
)
def test_the_place_is_named(text, place):
    with pytest.raises(InputRefused) as refused:
        read_inspection(text)
    assert refused.value.problems[0].path == place


def test_a_byte_order_mark_does_no_harm():
    assert parsed("\ufeff".encode() + b'{"a": [1, 2.5, "[[["]}') == {"a": [1, 2.5, "[[["]}


def test_brackets_in_text_do_not_count_as_depth():
    assert parsed(json.dumps({"note": "[" * 500 + '\\"['})) == {"note": "[" * 500 + '\\"['}
