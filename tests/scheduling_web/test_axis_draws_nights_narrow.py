"""A closed hour takes an eighth of the room of an open one, whatever the clocks do."""

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from scheduling.web.timeaxis import axis_make

CHICAGO = ZoneInfo("America/Chicago")
WEEKDAYS = {n: [(time(8), time(12)), (time(13), time(18))] for n in range(5)}


def local(day: date, hour: int) -> datetime:
    return datetime.combine(day, time(hour), tzinfo=CHICAGO).astimezone(UTC)


def test_a_closed_hour_is_an_eighth_of_an_open_one() -> None:
    monday = date(2026, 3, 2)
    axis = axis_make(first_day=monday, days=1, zone=CHICAGO, hours=WEEKDAYS)
    open_hour = axis.x(local(monday, 10)) - axis.x(local(monday, 9))
    lunch_hour = axis.x(local(monday, 13)) - axis.x(local(monday, 12))
    night_hour = axis.x(local(monday, 3)) - axis.x(local(monday, 2))
    # 10 open hours and 14 closed at an eighth are 11.75 hours of width.
    assert open_hour == pytest.approx(100 / 11.75)
    assert lunch_hour == pytest.approx(open_hour)
    assert night_hour == pytest.approx(open_hour / 8)


def test_a_closed_day_is_narrow_and_has_no_hour_marks() -> None:
    monday = date(2026, 3, 2)
    axis = axis_make(first_day=monday, days=2, zone=CHICAGO, hours=WEEKDAYS, closed={monday})
    shut, working = axis.days
    assert shut.width == pytest.approx(100 * 3 / 14.75)
    assert shut.open_x is None
    assert not shut.ticks
    assert working.ticks


@pytest.mark.parametrize(
    ("first_day", "hours_in_day"), [(date(2026, 3, 8), 23), (date(2026, 11, 1), 25)]
)
def test_the_nights_of_the_clock_change_keep_their_order(
    first_day: date, hours_in_day: int
) -> None:
    """US clocks change on the second Sunday of March and the first of November."""
    axis = axis_make(first_day=first_day, days=3, zone=CHICAGO, hours=WEEKDAYS)
    assert all(a < b for a, b in pairwise(axis.edges))
    assert local(first_day + timedelta(days=1), 0) - axis.start == timedelta(hours=hours_in_day)
    assert axis.shares[0] == 0
    assert axis.shares[-1] == 100


def test_a_stretch_in_which_nobody_opens_is_drawn_evenly() -> None:
    saturday = date(2026, 3, 7)
    axis = axis_make(first_day=saturday, days=1, zone=CHICAGO, hours=WEEKDAYS)
    assert axis.x(local(saturday, 6)) == pytest.approx(25)
