"""Any JSON gives an estimate whose invariants hold, or a refusal with a place."""

import json
from decimal import Decimal
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from estimating.core.errors import InputRefused
from estimating.core.formats import read_inspection
from tests.estimating.core.cases import document, panel, scratch, swirls, written

ODD = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=6),
    st.lists(st.integers(), max_size=2),
    st.dictionaries(st.text(max_size=3), st.none(), max_size=1),
)  # fmt: skip
JSON = st.recursive(ODD, lambda inner: st.lists(inner, max_size=3), max_leaves=6)
GOOD = document(panel("hood", 4.5, [swirls(), scratch(3.9)]), panel("roof"))


def places(value, path=()):
    """Paths of all values in a parsed file."""
    yield path
    items: Any = value.items() if isinstance(value, dict) else ()
    items = enumerate(value) if isinstance(value, list) else items
    for key, inner in items:
        yield from places(inner, (*path, key))


def outcome(read, source):
    """The problems of a refusal, or what was read."""
    try:
        return (), read(source)
    except InputRefused as refused:
        return refused.problems, None


PLACES = [path for path in places(GOOD) if path]


@settings(max_examples=40, deadline=None)
@given(path=st.sampled_from(PLACES), value=JSON)
def test_one_odd_value_is_refused_with_a_place_or_does_no_harm(path, value):
    made = json.loads(json.dumps(GOOD))
    place = made
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    refused, found = outcome(written, made)
    if found is None:
        assert refused
        assert all(problem.path.startswith("$") for problem in refused)
        return
    cost = {key: Decimal(amount) for key, amount in found["cost"].items()}
    assert sum(cost.values()) == 2 * cost["total"]


@settings(max_examples=40, deadline=None)
@given(value=JSON)
def test_json_of_any_shape_is_refused(value):
    refused, found = outcome(read_inspection, json.dumps(value))
    assert found is None
    assert refused
