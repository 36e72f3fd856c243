"""Numbers run on without a gap, for each shop and series by itself."""

import pytest
from django.db import transaction

from shop.models import Counter
from shop.services.numbers import number_next
from tests import factories as make

pytestmark = pytest.mark.django_db


def test_a_series_for_each_shop():
    one, other = make.ShopFactory(), make.ShopFactory()
    assert [number_next(shop=one, series="J") for _ in range(3)] == ["J-0001", "J-0002", "J-0003"]
    assert number_next(shop=one, series="Q") == "Q-0001"
    assert number_next(shop=other, series="J") == "J-0001"


def test_a_number_of_something_that_failed_is_given_again():
    shop = make.ShopFactory()

    class Failed(Exception):
        pass

    @transaction.atomic
    def book():
        assert number_next(shop=shop, series="J") == "J-0001"
        raise Failed

    with pytest.raises(Failed):
        book()
    assert number_next(shop=shop, series="J") == "J-0001"


def test_past_four_digits():
    shop = make.ShopFactory()
    Counter.objects.create(shop=shop, series="J", value=9999)
    assert number_next(shop=shop, series="J") == "J-10000"
