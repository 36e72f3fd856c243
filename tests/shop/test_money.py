"""Amounts are rounded half up to the smallest unit of their currency (ISO 4217)."""

from decimal import Decimal

import pytest

from shop.money import minor_units, rounded


@pytest.mark.parametrize(
    ("currency", "places"),
    # ISO 4217 list one.
    [
        ("USD", 2),
        ("EUR", 2),
        ("GBP", 2),
        ("JPY", 0),
        ("ISK", 0),
        ("KWD", 3),
        ("BHD", 3),
        ("CLF", 4),
    ],
)
def test_places(currency, places):
    assert minor_units(currency) == places


def test_half_goes_up():
    assert rounded(Decimal("2.675"), "USD") == Decimal("2.68")
    assert rounded(Decimal("2.5"), "JPY") == Decimal("3")
    assert rounded(Decimal("0.0005"), "KWD") == Decimal("0.001")
