"""Material taken lowers the stock in the same step, at the cost of that moment."""

from decimal import Decimal

import pytest

from shop.models import Consumable, MaterialUse
from shop.refusals import Refused
from shop.services.work import material_use
from tests import factories as make
from tests.factories import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    return make.JobFactory()


def take(job, item, quantity):
    member = make.TechnicianFactory(shop=job.shop)
    return material_use(
        job=job, consumable=item, quantity=Decimal(quantity), member=member, now=NOW
    )


def test_stock_falls_and_the_cost_is_kept(job):
    item = make.ConsumableFactory(shop=job.shop, on_hand=Decimal(100), unit_cost=Decimal("0.5"))
    use = take(job, item, "12.5")
    Consumable.objects.update(unit_cost=9)
    assert Consumable.objects.get().on_hand == Decimal("87.5")
    assert MaterialUse.objects.get(pk=use.pk).unit_cost == Decimal("0.5")


def test_more_than_the_count_says_is_taken_all_the_same(job):
    item = make.ConsumableFactory(shop=job.shop, on_hand=Decimal(5))
    take(job, item, "8")
    assert Consumable.objects.get().on_hand == -3


@pytest.mark.parametrize("quantity", ["0", "-1", "NaN", "Infinity"])
def test_an_impossible_amount(job, quantity):
    item = make.ConsumableFactory(shop=job.shop, on_hand=Decimal(5))
    with pytest.raises(Refused) as refused:
        take(job, item, quantity)
    assert list(refused.value.by_field()) == ["quantity"]
    assert Consumable.objects.get().on_hand == 5


def test_another_shops_shelf(job):
    with pytest.raises(Refused) as refused:
        take(job, make.ConsumableFactory(), "1")
    assert list(refused.value.by_field()) == ["consumable"]
