"""The calendar in minutes is right on the day on which the clocks change."""

from datetime import UTC, date, datetime, timedelta

import pytest

from scheduling.services.horizon import horizon_load
from tests.factories import AbsenceFactory, ClosureFactory
from tests.scheduling.shops import small_shop

pytestmark = pytest.mark.django_db
HOUR = 60


def test_monday_after_the_clocks_went_forward_opens_an_hour_earlier_in_absolute_time():
    # Chicago, Sunday 8 March 2026: 02:00 becomes 03:00 (IANA tz data), so the day has 23 hours.
    small = small_shop()
    sunday_noon = datetime(2026, 3, 8, 17, 0, tzinfo=UTC)
    horizon = horizon_load(shop=small.shop, start=sunday_noon, days=2)
    assert horizon.origin == datetime(2026, 3, 8, 6, 0, tzinfo=UTC)
    assert horizon.resources.horizon == (23 + 24) * HOUR
    assert horizon.resources.opening == (((23 + 8) * HOUR, (23 + 17) * HOUR),)
    assert horizon.moment((23 + 8) * HOUR) == datetime(2026, 3, 9, 13, 0, tzinfo=UTC)


def test_closed_days_and_absences_are_cut_out_of_shifts():
    small = small_shop()
    ClosureFactory(shop=small.shop, first_day=date(2026, 3, 3), last_day=date(2026, 3, 3))
    # Wednesday 10:00 to 12:00 in Chicago, before the change: six hours behind UTC.
    away = datetime(2026, 3, 4, 16, 0, tzinfo=UTC)
    AbsenceFactory(resource=small.crew, start=away, end=away + timedelta(hours=2))
    AbsenceFactory(resource=small.correction, start=away, end=away + timedelta(hours=2))
    monday = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
    resources = horizon_load(shop=small.shop, start=monday, days=3).resources
    wednesday = 48 * HOUR
    assert resources.crew[0].windows == (
        (8 * HOUR, 17 * HOUR),
        (wednesday + 8 * HOUR, wednesday + 10 * HOUR),
        (wednesday + 12 * HOUR, wednesday + 17 * HOUR),
    )
    closed = {spot.id: spot.closures for spot in resources.spots}
    assert closed[f"r{small.correction.pk}"] == ((wednesday + 600, wednesday + 720),)


def test_a_moment_between_two_minutes_counts_as_the_later_one():
    horizon = horizon_load(
        shop=small_shop().shop, start=datetime(2026, 3, 2, 12, 0, tzinfo=UTC), days=1
    )
    asked = datetime(2026, 3, 2, 14, 0, 1, tzinfo=UTC)
    assert horizon.minute(asked) == 8 * HOUR + 1
