"""Shifts of every other week and shifts with a first and last day, day by day."""

from datetime import date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.core.worktime import (
    Shift,
    Span,
    WorkCalendar,
    instant_of,
    minute_windows,
    shift_spans,
)

NEW_YORK = ZoneInfo("America/New_York")
MONDAY = date(2026, 3, 2)
# Two weeks round the spring change of 8 March 2026 and the autumn change of 1 November 2026.
STARTS = [date(2026, 3, 2), date(2026, 10, 26)]
DAYS = 14


@st.composite
def shifts(draw: st.DrawFn) -> Shift:
    start, end = sorted(draw(st.sets(st.integers(0, 23), min_size=2, max_size=2)))
    first = draw(st.none() | st.dates(date(2026, 1, 1), date(2026, 11, 8)))
    weeks = draw(st.integers(1, 3)) if first else 1
    last = draw(st.none() | st.integers(0, 300)) if first else None
    return Shift(
        draw(st.integers(0, 6)),
        time(start),
        time(end, 30),
        every_weeks=weeks,
        first_day=first,
        last_day=first + timedelta(days=last) if first and last is not None else None,
    )


def worked_slowly(shift: Shift, local: datetime) -> bool:
    """Whether a wall-clock minute is worked, by walking week by week from the first day."""
    day = local.date()
    if local.fold:
        # The hour that comes twice, from 01:00: times mean its first run, so the second is worked
        # by those who were at work at the end of the first.
        local = local.replace(hour=1, minute=59)
    if day.weekday() != shift.weekday or not shift.start <= local.time() < shift.end:
        return False
    if shift.first_day is None:
        return True
    if day < shift.first_day or (shift.last_day and day > shift.last_day):
        return False
    week = shift.first_day
    while week.weekday():
        week -= timedelta(days=1)
    while week + timedelta(days=7) <= day:
        week += timedelta(days=7 * shift.every_weeks)
    return week <= day


@given(
    st.lists(shifts(), min_size=1, max_size=4),
    st.sampled_from(STARTS),
    st.sets(st.integers(0, DAYS - 1), max_size=3),
    st.integers(0, DAYS * 24 * 60 - 200),
    st.integers(0, 600),
    st.integers(0, 600),
)
def test_against_every_quarter_of_an_hour(
    weekly: list[Shift], first: date, closed: set[int], at: int, a: int, b: int
) -> None:
    """Holidays closed, both clock changes inside: windows, and adding, by looking at each."""
    last = first + timedelta(days=DAYS - 1)
    holidays = [first + timedelta(days=n) for n in closed]
    origin = instant_of(first, time(), NEW_YORK)
    spans = shift_spans(weekly, NEW_YORK, first, last, closed_days=holidays)
    calendar = WorkCalendar(minute_windows(spans, origin))
    minutes: list[int] = []
    for minute in range(0, DAYS * 24 * 60, 15):
        local = (origin + timedelta(minutes=minute)).astimezone(NEW_YORK)
        if local.date() > last:
            break
        shut = local.date() in holidays
        works = not shut and any(worked_slowly(shift, local) for shift in weekly)
        assert calendar.is_working(minute) == works
        minutes += range(minute, minute + 15) if works else ()
    ahead = [minute for minute in minutes if minute >= at]
    if a and b and len(ahead) >= a + b:
        done = calendar.add(calendar.add(at, a), b)
        assert done == calendar.add(at, a + b) == ahead[a + b - 1] + 1


def test_alternate_weeks_share_out_all_weeks() -> None:
    odd = Shift(0, time(8), time(17), every_weeks=2, first_day=MONDAY)
    even = Shift(0, time(8), time(17), every_weeks=2, first_day=MONDAY + timedelta(days=7))
    last = MONDAY + timedelta(days=69)
    both = shift_spans([odd, even], NEW_YORK, MONDAY, last)
    assert both == shift_spans([Shift(0, time(8), time(17))], NEW_YORK, MONDAY, last)
    mondays = [span.start for span in shift_spans([odd], NEW_YORK, MONDAY, last)]
    assert {round((b - a) / timedelta(days=1)) for a, b in pairwise(mondays)} == {14}


@pytest.mark.parametrize(("day", "starts"), [(MONDAY, True), (MONDAY - timedelta(7), False)])
def test_first_day_counts(day: date, starts: bool) -> None:
    assert Shift(0, time(8), time(9), first_day=MONDAY).starts_on(day) is starts


def test_overtime_joins_the_shift_it_follows() -> None:
    """Overtime is one more window; a closed day does not end it, a closed stretch does."""
    zone, hour = NEW_YORK, timedelta(hours=1)
    (shift,) = shift_spans([Shift(0, time(8), time(17))], zone, MONDAY, MONDAY)
    extra = Span(shift.end, shift.end + 2 * hour)
    windows = minute_windows([shift, extra], shift.start)
    assert windows == ((0, 11 * 60),)


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        ({"every_weeks": 0}, "at least 1"),
        ({"every_weeks": 2}, "first_day"),
        ({"first_day": MONDAY, "last_day": date(2026, 3, 1)}, "before"),
    ],
)
def test_pattern_that_cannot_be_is_refused(bad: dict[str, object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        Shift(0, time(8), time(17), **bad)  # type: ignore[arg-type]
