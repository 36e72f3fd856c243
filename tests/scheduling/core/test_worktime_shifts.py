"""Shifts on the wall clock become instants: breaks, closures, nights, both clock changes."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.core.worktime import (
    MINUTE,
    Shift,
    Span,
    instant_at,
    instant_of,
    minute_of,
    minute_windows,
    shift_spans,
)

CHICAGO = ZoneInfo("America/Chicago")
SATURDAY, SUNDAY = 5, 6
# 2026-03-08 and 2026-11-01 are the changes of that year in America/Chicago.
DAYS = [date(2026, 3, 7), date(2026, 3, 8), date(2026, 10, 31), date(2026, 11, 1)]


def hours(spans: list[Span]) -> list[float]:
    return [(span.end - span.start) / timedelta(hours=1) for span in spans]


@given(st.sampled_from(DAYS), st.integers(0, 1439))
def test_instant_is_the_first_that_shows_the_wall_time(day: date, minute: int) -> None:
    clock = time(minute // 60, minute % 60)
    wanted = datetime.combine(day, clock)
    walk = datetime(day.year, day.month, day.day, tzinfo=UTC)
    while walk.astimezone(CHICAGO).replace(tzinfo=None) < wanted:
        walk += MINUTE
    assert instant_of(day, clock, CHICAGO) == walk


def test_breaks_are_cut_out() -> None:
    shift = Shift(0, time(8), time(17), breaks=((time(12), time(12, 30)),))
    spans = shift_spans([shift], CHICAGO, date(2026, 6, 1), date(2026, 6, 7))
    assert hours(spans) == [4.0, 4.5]
    assert spans[0].start == datetime(2026, 6, 1, 13, tzinfo=UTC)


@pytest.mark.parametrize(
    ("day", "weekday", "expected"),
    [(DAYS[0], SATURDAY, 9.0), (DAYS[2], SATURDAY, 11.0), (date(2026, 6, 6), SATURDAY, 10.0)],
)
def test_night_shift_over_a_clock_change(day: date, weekday: int, expected: float) -> None:
    """22:00 to 08:00 is nine hours in spring and eleven in autumn."""
    spans = shift_spans([Shift(weekday, time(22), time(8))], CHICAGO, day, day)
    assert hours(spans) == [expected]


def test_shift_that_falls_into_the_gap_is_no_shift() -> None:
    shift = Shift(SUNDAY, time(2, 10), time(2, 50))
    assert shift_spans([shift], CHICAGO, DAYS[1], DAYS[1]) == []


def test_closed_day_is_local_midnight_to_midnight() -> None:
    shifts = [Shift(k, time(0), time(0)) for k in range(7)]
    spans = shift_spans(
        shifts, CHICAGO, date(2026, 10, 31), date(2026, 11, 2), closed_days=[date(2026, 11, 1)]
    )
    assert [
        s.astimezone(CHICAGO).isoformat() for span in spans for s in (span.start, span.end)
    ] == [
        "2026-10-31T00:00:00-05:00",
        "2026-11-01T00:00:00-05:00",
        "2026-11-02T00:00:00-06:00",
        "2026-11-03T00:00:00-06:00",
    ]


@given(st.integers(0, 60 * 24 * 7), st.integers(1, 3000))
def test_never_inside_a_closure(start: int, length: int) -> None:
    origin = datetime(2026, 3, 5, tzinfo=UTC)
    closed = Span(instant_at(start, origin), instant_at(start + length, origin))
    shifts = [Shift(k, time(8), time(17)) for k in range(7)]
    spans = shift_spans(shifts, CHICAGO, date(2026, 3, 5), date(2026, 3, 11), closed_spans=[closed])
    windows = minute_windows(spans, origin)
    assert windows
    assert all(b <= start or a >= start + length for a, b in windows)


def test_minutes_round_trip() -> None:
    origin = datetime(2026, 10, 31, 5, tzinfo=UTC)
    assert minute_of(instant_at(1234, origin), origin) == 1234


def test_naive_instants_are_refused() -> None:
    with pytest.raises(ValueError, match="aware"):
        Span(datetime(2026, 1, 1), datetime(2026, 1, 2))  # noqa: DTZ001 -- the point
