"""Lanes side by side answer what each resource alone would."""

from hypothesis import given
from hypothesis import strategies as st

from scheduling.core.lanes import Lanes
from scheduling.core.masks import at_least, runs, span, stand, stand_between

SIZE = 24
free_slots = st.lists(st.integers(0, 2**SIZE - 1) | st.just(span(0, SIZE)), min_size=1, max_size=7)


def lanes_of(free: list[int]) -> Lanes:
    return Lanes([str(k) for k in range(len(free))], free, SIZE)


@given(free_slots, st.lists(st.integers(1, SIZE), min_size=1, max_size=4))
def test_free_for_as_long_in_any_order_of_lengths(free: list[int], lengths: list[int]) -> None:
    lanes = lanes_of(free)
    for slots in lengths:
        packed = lanes.free_for(slots)
        assert [lanes.lane(packed, k) for k in range(lanes.count)] == [
            runs(mask, slots) for mask in free
        ]


@given(free_slots, st.integers(0, 2 ** (SIZE + 1) - 1), st.integers(0, 5), st.integers(0, 9))
def test_standing_never_leaves_its_lane(free: list[int], seeds: int, least: int, more: int) -> None:
    lanes = lanes_of(free)
    packed = lanes.spread(seeds)
    stood = stand(packed, lanes.free)
    between = stand_between(packed, lanes.free, least, least + more)
    for k, mask in enumerate(free):
        assert lanes.lane(stood, k) == stand(seeds, mask)
        assert lanes.lane(between, k) == stand_between(seeds, mask, least, least + more) & (
            lanes.moments
        )


@given(free_slots, st.integers(1, 3))
def test_in_how_many_lanes(free: list[int], count: int) -> None:
    lanes = lanes_of(free)
    assert lanes.at_least(lanes.free, count) == at_least(free, count)
