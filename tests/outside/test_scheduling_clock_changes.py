"""Daylight-saving facts of the IANA time zone database, as zoneinfo and tzdata give them."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduling.core.worktime import MINUTE, Shift, instant_at, instant_of, shift_spans

NEW_YORK = ZoneInfo("America/New_York")


@pytest.mark.parametrize(
    ("zone", "change"),
    [
        ("America/New_York", "2025-03-09T07:00"),
        ("America/New_York", "2025-11-02T06:00"),
        ("America/New_York", "2026-03-08T07:00"),
        ("America/New_York", "2026-11-01T06:00"),
        ("America/New_York", "2027-03-14T07:00"),
        ("America/New_York", "2027-11-07T06:00"),
        ("Europe/London", "2025-03-30T01:00"),
        ("Europe/London", "2025-10-26T01:00"),
        ("Europe/London", "2026-03-29T01:00"),
        ("Europe/London", "2026-10-25T01:00"),
        ("Australia/Sydney", "2025-04-05T16:00"),
        ("Australia/Sydney", "2025-10-04T16:00"),
    ],
)
def test_local_day_of_the_change_is_an_hour_off(zone: str, change: str) -> None:
    """A day of round-the-clock work has 23 or 25 hours, and the jump is at the known instant."""
    here = ZoneInfo(zone)
    instant = datetime.fromisoformat(change).replace(tzinfo=UTC)
    after, before = instant.astimezone(here), (instant - MINUTE).astimezone(here)
    jump = (after.replace(tzinfo=None) - before.replace(tzinfo=None)) - MINUTE
    day = instant.astimezone(here).date()
    (span,) = shift_spans([Shift(day.weekday(), time(0), time(0))], here, day, day)
    assert abs(jump) == timedelta(hours=1)
    assert span.end - span.start == timedelta(hours=24) - jump


@pytest.mark.parametrize(
    ("day", "ends"),
    [
        (date(2025, 11, 1), "2025-11-02T17:00:00-05:00"),
        (date(2025, 3, 8), "2025-03-09T19:00:00-04:00"),
    ],
)
def test_24_hour_cure_is_24_absolute_hours(day: date, ends: str) -> None:
    """Begun at 18:00 on the wall clock; adding on the wall clock would wrongly say 18:00."""
    start = instant_of(day, time(18), NEW_YORK)
    assert instant_at(24 * 60, start).astimezone(NEW_YORK).isoformat() == ends


def test_time_that_exists_twice_is_its_first() -> None:
    """2025-11-02 01:30: fold 0 is 05:30Z, fold 1 would be 06:30Z."""
    found = instant_of(date(2025, 11, 2), time(1, 30), NEW_YORK)
    assert found == datetime(2025, 11, 2, 5, 30, tzinfo=UTC)


def test_time_that_does_not_exist_is_shifted_to_the_end_of_the_gap() -> None:
    """2025-03-09 02:30 is skipped: the first instant after it is 03:00 -04:00, 07:00Z."""
    found = instant_of(date(2025, 3, 9), time(2, 30), NEW_YORK)
    assert found == datetime(2025, 3, 9, 7, tzinfo=UTC)
