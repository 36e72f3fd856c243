"""Every factory makes rows the database takes, twice, all of one shop."""

import inspect
from typing import Any

import pytest
from factory.django import DjangoModelFactory

from tests import factories

MADE_HERE: list[Any] = [
    made
    for made in vars(factories).values()
    if inspect.isclass(made)
    and issubclass(made, DjangoModelFactory)
    and made.__module__ == factories.__name__
    and not vars(made)["_meta"].abstract
]


def owned(row: Any) -> list[Any]:
    """Rows that ``row`` points at and that carry a shop."""
    found = []
    for field in row._meta.concrete_fields:
        if field.many_to_one and field.name != "shop":
            other = getattr(row, field.name)
            found += [other] if hasattr(other, "shop_id") else []
    return found


@pytest.mark.django_db
@pytest.mark.parametrize("made", MADE_HERE, ids=lambda made: made.__name__)
def test_factory_makes_rows_of_one_shop(made: Any) -> None:
    first, second = made(), made()
    assert first.pk != second.pk
    shops = {other.shop_id for other in owned(first)} | {getattr(first, "shop_id", None)}
    assert len(shops - {None}) <= 1


@pytest.mark.django_db
def test_child_takes_the_shop_of_the_parent_it_is_given() -> None:
    vehicle = factories.VehicleFactory()
    job = factories.JobFactory(vehicle=vehicle)
    assert (job.shop, job.customer) == (vehicle.shop, vehicle.customer)


@pytest.mark.django_db
def test_parents_made_on_the_way_take_the_shop_that_is_given() -> None:
    shop = factories.ShopFactory()
    quote = factories.QuoteFactory(shop=shop)
    assert {quote.customer.shop, quote.vehicle.shop, quote.member.shop} == {shop}


@pytest.mark.django_db
def test_vehicle_made_on_the_way_is_the_customers() -> None:
    customer = factories.CustomerFactory()
    assert factories.JobFactory(customer=customer).vehicle.customer == customer
