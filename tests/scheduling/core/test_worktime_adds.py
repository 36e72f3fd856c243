"""Adding and subtracting working minutes, against a slow minute-by-minute reference."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.core.worktime import OutOfCalendarError, WorkCalendar, common, cut, join

LAST = 400


@st.composite
def calendars(draw: st.DrawFn) -> WorkCalendar:
    cuts = sorted(draw(st.sets(st.integers(0, LAST), min_size=2, max_size=12)))
    return WorkCalendar(list(zip(cuts[::2], cuts[1::2], strict=False)))


def worked_minutes(calendar: WorkCalendar) -> list[int]:
    """Return every worked minute, by looking at each in turn."""
    return [m for m in range(LAST + 1) if any(a <= m < b for a, b in calendar.windows)]


@given(calendars(), st.integers(0, LAST), st.integers(0, 80), st.integers(0, 80))
def test_adding_twice_is_adding_the_sum(calendar: WorkCalendar, start: int, a: int, b: int) -> None:
    try:
        at_once = calendar.add(start, a + b)
    except OutOfCalendarError:
        with pytest.raises(OutOfCalendarError):
            calendar.add(calendar.add(start, a), b)
    else:
        assert calendar.add(calendar.add(start, a), b) == at_once


@given(calendars(), st.integers(0, LAST), st.integers(1, 80))
def test_add_is_the_minute_after_the_last_one_worked(
    calendar: WorkCalendar, start: int, minutes: int
) -> None:
    ahead = [m for m in worked_minutes(calendar) if m >= start]
    if len(ahead) < minutes:
        with pytest.raises(OutOfCalendarError):
            calendar.add(start, minutes)
    else:
        assert calendar.add(start, minutes) == ahead[minutes - 1] + 1


@given(calendars(), st.integers(0, LAST), st.integers(1, 80))
def test_subtract_is_the_first_minute_to_work(
    calendar: WorkCalendar, end: int, minutes: int
) -> None:
    behind = [m for m in worked_minutes(calendar) if m < end]
    if len(behind) < minutes:
        with pytest.raises(OutOfCalendarError):
            calendar.subtract(end, minutes)
    else:
        assert calendar.subtract(end, minutes) == behind[-minutes]


@given(calendars(), st.integers(0, LAST), st.integers(0, LAST))
def test_between_counts_worked_minutes(calendar: WorkCalendar, a: int, b: int) -> None:
    low, high = min(a, b), max(a, b)
    counted = sum(low <= m < high for m in worked_minutes(calendar))
    assert calendar.between(low, high) == counted
    assert calendar.between(high, low) == -counted
    assert sum(end - start for start, end in calendar.pieces(low, high)) == counted


@given(calendars(), calendars())
def test_common_and_cut_share_out_every_minute(one: WorkCalendar, other: WorkCalendar) -> None:
    both = common(one.windows, other.windows)
    only = cut(one.windows, other.windows)
    assert join([*both, *only]) == list(one.windows)
    in_both = set(worked_minutes(one)) & set(worked_minutes(other))
    assert worked_minutes(WorkCalendar(both)) == sorted(in_both)
