"""The index counts units: what is taken is given back, and a pool is full only when all are."""

from hypothesis import given
from hypothesis import strategies as st

from scheduling.core.freeindex import FreeIndex, Resources
from scheduling.core.problem import Spot

HORIZON = 3 * 10080
SHOP = Resources(5, HORIZON, (Spot("lot", capacity=3, park=True),))
holds = st.lists(
    st.tuples(st.integers(0, HORIZON // 5 - 1), st.integers(1, 3000)).map(
        lambda one: (one[0] * 5, min(one[0] * 5 + one[1] * 5, HORIZON))
    ),
    max_size=8,
)


def most_in_use(taken: list[tuple[int, int]]) -> int:
    return max((sum(a <= at < b for a, b in taken) for at, _ in taken), default=0)


@given(holds, st.integers(0, HORIZON // 5 - 1))
def test_full_where_as_many_hold_it_as_there_are(taken: list[tuple[int, int]], slot: int) -> None:
    while most_in_use(taken) > 3:
        taken.pop()
    index = FreeIndex(SHOP, {"lot": taken})
    minute = slot * 5
    in_use = sum(a <= minute < b for a, b in taken)
    assert index.is_free("lot", minute, minute + 5) == (in_use < 3)
    for units in (1, 2, 3):
        seen = bool(index.free("lot", 0, index.blocks, units) >> slot & 1)
        assert seen == (3 - in_use >= units)


@given(holds)
def test_removing_gives_back_what_was_added(taken: list[tuple[int, int]]) -> None:
    while most_in_use(taken) > 3:
        taken.pop()
    index = FreeIndex(SHOP, {"lot": taken})
    for start, end in taken:
        index.remove("lot", start, end)
    assert index.free("lot", 0, index.blocks, 3) == index.whole(0, index.blocks)


def test_off_the_grid_is_widened() -> None:
    index = FreeIndex(SHOP, {"lot": [(7, 11)] * 3})
    assert [index.is_free("lot", at, at + 5) for at in (0, 5, 10, 15)] == [True, False, False, True]
