"""Bit tricks against walking from slot to slot."""

from hypothesis import given
from hypothesis import strategies as st

from scheduling.core.cpmodel import domain_of
from scheduling.core.masks import (
    at_least,
    highest,
    lowest,
    runs,
    spans_of_work,
    stand,
    stand_between,
)
from scheduling.core.worktime import WorkCalendar

SIZE = 40
masks = st.integers(0, 2**SIZE - 1)
few = st.sets(st.integers(0, SIZE - 1), max_size=4).map(lambda places: sum(1 << k for k in places))
mostly_free = few.map(lambda holes: (2**SIZE - 1) & ~holes)


def bits(mask: int) -> set[int]:
    return {k for k in range(3 * SIZE) if mask >> k & 1}


def all_free(free: int, start: int, end: int) -> bool:
    return all(free >> k & 1 for k in range(start, end))


@given(mostly_free | masks, st.integers(1, 12))
def test_runs(mask: int, length: int) -> None:
    assert bits(runs(mask, length)) == {k for k in range(SIZE) if all_free(mask, k, k + length)}


@given(masks, st.integers(1, 6), st.integers(0, 6))
def test_runs_go_on_from_shorter_ones(mask: int, short: int, more: int) -> None:
    assert runs(runs(mask, short), short + more, short) == runs(mask, short + more)


@given(few | masks, mostly_free | masks)
def test_stand(seeds: int, free: int) -> None:
    assert bits(stand(seeds, free)) == {
        t for e in bits(seeds) for t in range(e, SIZE + 1) if all_free(free, e, t)
    }


@given(few, mostly_free, st.integers(0, 10), st.none() | st.integers(0, 20))
def test_stand_between(seeds: int, free: int, least: int, more: int | None) -> None:
    most = None if more is None else least + more
    latest = 2 * SIZE if most is None else most
    assert bits(stand_between(seeds, free, least, most)) == {
        t
        for e in bits(seeds)
        for t in range(e + least, min(e + latest, 2 * SIZE) + 1)
        if all_free(free, e, t)
    }


@given(st.lists(masks, max_size=5), st.integers(1, 4))
def test_at_least(many: list[int], count: int) -> None:
    assert bits(at_least(many, count)) == {
        k for k in range(SIZE) if sum(mask >> k & 1 for mask in many) >= count
    }


@given(masks.filter(bool))
def test_lowest_and_highest(mask: int) -> None:
    assert (lowest(mask), highest(mask)) == (min(bits(mask)), max(bits(mask)))


@given(masks)
def test_domain_of_a_mask(mask: int) -> None:
    intervals = domain_of(mask).flattened_intervals()
    pairs = zip(intervals[::2], intervals[1::2], strict=True)
    assert {k for a, b in pairs for k in range(a, b + 1)} == bits(mask)


@given(st.sets(st.integers(0, SIZE), min_size=2, max_size=10), st.integers(1, 15))
def test_spans_of_work(cuts: set[int], work: int) -> None:
    edges = sorted(cuts)
    windows = list(zip(edges[::2], edges[1::2], strict=False))
    calendar = WorkCalendar(windows)
    found = {
        start: start + elapsed
        for elapsed, starts in spans_of_work(calendar.windows, work)
        for start in bits(starts)
    }
    assert found == {
        start: calendar.add(start, work)
        for start in range(SIZE)
        if calendar.is_working(start) and calendar.between(start, SIZE + 1) >= work
    }
