"""Money, time and film as they are written on a page."""

from datetime import UTC, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from shop.web import show

CHICAGO = ZoneInfo("America/Chicago")
NOW = datetime(2026, 3, 2, 15, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("amount", "currency", "whole", "written"),
    [
        (Decimal("1010"), "USD", False, "$1,010.00"),
        (Decimal("1010.555"), "USD", False, "$1,010.56"),
        (Decimal("904.50"), "USD", True, "$905"),
        (Decimal("-5"), "EUR", False, "−€5.00"),
        ("1200", "JPY", False, "¥1,200"),
        (Decimal("1.5"), "KWD", False, "KWD 1.500"),
        (None, "USD", False, "–"),
    ],
)
def test_money(amount, currency, whole, written):
    assert show.money_text(amount, currency, whole=whole) == written


@pytest.mark.parametrize(
    ("minutes", "written"),
    [(45, "45 min"), (60, "1 h"), (105, "1 h 45 min"), (125.4, "2 h 05 min"), (None, "–")],
)
def test_minutes(minutes, written):
    assert show.minutes_text(minutes) == written


@pytest.mark.parametrize(
    ("film_um", "unit", "written"), [(76.2, "mil", "3.00"), (76.2, "um", "76"), (None, "um", "–")]
)
def test_film(film_um, unit, written):
    assert show.film_text(film_um, unit) == written


@pytest.mark.parametrize(
    ("at", "written"),
    [
        (datetime(2026, 3, 3, 3, 30, tzinfo=UTC), "today 21:30"),
        (datetime(2026, 3, 3, 14, 0, tzinfo=UTC), "tomorrow 8:00"),
        (datetime(2026, 3, 2, 5, 59, tzinfo=UTC), "yesterday 23:59"),
        # The clocks go forward on 8 March: 13:00 UTC is 8:00 then, and not 7:00.
        (datetime(2026, 3, 8, 13, 0, tzinfo=UTC), "Sun 8 Mar 8:00"),
        (datetime(2027, 1, 4, 14, 0, tzinfo=UTC), "4 Jan 2027 8:00"),
    ],
)
def test_days_and_times_are_the_shops(at, written):
    assert show.when_text(at, CHICAGO, NOW) == written


def test_waits_in_days_are_never_cut_short():
    assert [show.days_text(hours) for hours in (1, 24, 25, 168)] == [
        "1 day", "1 day", "2 days", "7 days",
    ]  # fmt: skip


def test_ages_and_phones():
    assert [show.age_text(months) for months in (None, 1, 23, 36)] == [
        "not known", "1 month", "23 months", "3 years",
    ]  # fmt: skip
    assert show.phone_text("+12025550143") == "+1 202-555-0143"


def test_a_promise_is_never_called_certain_nor_rounded_up():
    assert [show.sure_text(Decimal(p)) for p in ("0.907", "0.9099", "0.999", "1")] == [
        "90 % sure", "90 % sure", "over 99 % sure", "over 99 % sure",
    ]  # fmt: skip
