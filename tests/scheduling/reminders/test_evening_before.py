"""The message of the evening before goes out in the evening or not at all."""

from datetime import UTC, datetime, time, timedelta

import pytest

from scheduling.models import CalendarPolicy, Reminder, ReminderPurpose
from scheduling.services.bookings import booking_make
from tests.factories import NOW
from tests.scheduling.shops import quoted_job, small_shop

pytestmark = pytest.mark.django_db


def row_of(small, **booking):
    job = quoted_job(small)
    booking_make(job=job, member=small.desk, **booking)
    return Reminder.objects.filter(job=job, purpose=ReminderPurpose.DAY_BEFORE).first()


def test_it_expires_at_the_midnight_that_begins_the_day():
    row = row_of(small_shop(), now=NOW, earliest=NOW + timedelta(days=1))
    assert row.due_at == datetime(2026, 3, 3, 0, 0, tzinfo=UTC)
    assert row.expires_at == datetime(2026, 3, 3, 6, 0, tzinfo=UTC)


def test_booked_after_the_evening_there_is_none():
    evening = datetime(2026, 3, 3, 1, 0, tzinfo=UTC)
    assert row_of(small_shop(), now=evening, earliest=evening) is None


def test_the_hour_is_the_shops_own():
    small = small_shop()
    CalendarPolicy.objects.create(shop=small.shop, day_before_at=time(16, 30))
    row = row_of(small, now=NOW, earliest=NOW + timedelta(days=1))
    assert row.due_at == datetime(2026, 3, 2, 22, 30, tzinfo=UTC)


def test_the_evening_is_on_the_wall_clock_also_when_the_clocks_change_that_night():
    # Chicago, 8 March 2026: the evening before Monday the 9th is already summer time.
    small = small_shop()
    row = row_of(small, now=NOW, earliest=datetime(2026, 3, 9, 12, 0, tzinfo=UTC))
    assert row.due_at == datetime(2026, 3, 8, 23, 0, tzinfo=UTC)
