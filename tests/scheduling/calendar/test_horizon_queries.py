"""Loading the calendar takes the same few queries however much is booked."""

from datetime import timedelta

import pytest

from scheduling.services.horizon import horizon_load
from tests.factories import NOW, HoldFactory
from tests.scheduling.shops import small_shop

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("bookings", [1, 40])
def test_five_queries(bookings, django_assert_num_queries):
    small = small_shop()
    for n in range(bookings):
        start = NOW + timedelta(hours=n)
        HoldFactory(
            shop=small.shop, resource=small.wash, start=start, end=start + timedelta(minutes=30)
        )
    with django_assert_num_queries(5):
        horizon = horizon_load(shop=small.shop, start=NOW, days=7)
    assert len(horizon.busy[f"r{small.wash.pk}"]) == bookings


def test_another_shop_is_not_seen():
    small = small_shop()
    other = HoldFactory(start=NOW, end=NOW + timedelta(hours=1))
    horizon = horizon_load(shop=small.shop, start=NOW, days=7)
    assert f"r{other.resource_id}" not in horizon.units
    assert not horizon.busy
