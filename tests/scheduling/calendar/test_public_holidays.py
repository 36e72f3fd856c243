"""A public holiday closes the shop of a chosen country, unless the owner says otherwise."""

from datetime import UTC, date, datetime, time

import pytest

from scheduling.selectors import calendar_week
from scheduling.services.horizon import horizon_load
from scheduling.services.offers import offers_find
from shop.closed_days import closed_days
from tests.factories import ClosureFactory
from tests.scheduling.shops import correction, quoted_job, small_shop

pytestmark = pytest.mark.django_db

# Thanksgiving 2026 is Thursday 26 November.
THANKSGIVING = date(2026, 11, 26)
MONDAY = date(2026, 11, 23)
WEDNESDAY_EVENING = datetime(2026, 11, 26, 2, 0, tzinfo=UTC)


def first_visit(small):
    rows = list(quoted_job(small, correction(120)).operations.all())
    at = WEDNESDAY_EVENING
    (offer,) = offers_find(shop=small.shop, operations=rows, earliest=at, now=at, count=1).found
    return offer.arrives_at.astimezone(small.shop.tz).date()


def test_nothing_is_offered_on_a_holiday():
    assert first_visit(small_shop(holiday_country="US")) == date(2026, 11, 27)


def test_without_a_country_the_day_is_like_any_other():
    assert first_visit(small_shop()) == THANKSGIVING


def test_a_holiday_that_is_worked():
    small = small_shop(holiday_country="US")
    ClosureFactory(shop=small.shop, first_day=THANKSGIVING, last_day=THANKSGIVING, worked=True)
    assert first_visit(small) == THANKSGIVING


def test_the_shops_own_closure_wins_over_a_worked_holiday():
    small = small_shop(holiday_country="US")
    for worked in (True, False):
        ClosureFactory(
            shop=small.shop,
            first_day=THANKSGIVING,
            last_day=THANKSGIVING,
            worked=worked,
            reason="Stocktaking",
        )
    assert closed_days(small.shop, MONDAY, THANKSGIVING) == {THANKSGIVING: "Stocktaking"}


def test_the_calendar_names_the_holiday():
    small = small_shop(holiday_country="US")
    week = calendar_week(small.shop, MONDAY)
    assert [(one.day, one.reason) for one in week.closures] == [(THANKSGIVING, "Thanksgiving Day")]
    assert all(span.start.astimezone(small.shop.tz).date() != THANKSGIVING for span in week.opening)


def test_holidays_of_two_years_at_the_turn():
    small = small_shop(holiday_country="DE")
    found = closed_days(small.shop, date(2026, 12, 24), date(2027, 1, 2))
    assert list(found) == [date(2026, 12, 25), date(2026, 12, 26), date(2027, 1, 1)]


def test_a_holiday_takes_no_query_more(django_assert_num_queries):
    small = small_shop(holiday_country="US")
    at = datetime.combine(MONDAY, time(9), tzinfo=UTC)
    with django_assert_num_queries(5):
        horizon_load(shop=small.shop, start=at, days=7)
