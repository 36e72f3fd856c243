"""Writing customers down: reachable, phone in one form, refused by field."""

import pytest

from shop.models import Customer
from shop.refusals import Refused
from shop.services.customers import customer_add, customer_change
from tests import factories as make

pytestmark = pytest.mark.django_db


def test_a_phone_is_kept_as_e164():
    added = customer_add(shop=make.ShopFactory(), name=" A caller ", phone="(202) 555-0143")
    kept = Customer.objects.get(pk=added.pk)
    assert (kept.name, kept.phone) == ("A caller", "+12025550143")


def test_the_shops_country_reads_the_phone():
    shop = make.ShopFactory(country="GB")
    assert customer_add(shop=shop, name="A caller", phone="020 7946 0958").phone == "+442079460958"


def test_an_address_is_enough():
    assert customer_add(shop=make.ShopFactory(), name="A caller", email="a@example.org").pk


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"name": "", "phone": "202 555 0143"}, "name"),
        ({"name": "A caller"}, ""),
        ({"name": "A caller", "phone": "0143"}, "phone"),
        # Looks like E.164, but no such number can be.
        ({"name": "A caller", "phone": "+1555"}, "phone"),
        ({"name": "A caller", "email": "nowhere"}, "email"),
        ({"name": "A caller", "phone": "202 555 0143", "zone": "Here/Now"}, "zone"),
    ],
)
def test_refused_by_field_and_nothing_written(facts, field):
    with pytest.raises(Refused) as refused:
        customer_add(shop=make.ShopFactory(), **facts)
    assert list(refused.value.by_field()) == [field]
    assert not Customer.objects.exists()


def test_all_problems_are_named_at_once():
    with pytest.raises(Refused) as refused:
        customer_add(shop=make.ShopFactory(), name="", phone="0143", email="nowhere")
    assert set(refused.value.by_field()) == {"name", "phone", "email"}


def test_a_change_leaves_the_rest_alone():
    customer = make.CustomerFactory(phone="+12025550143", notes="has a dog")
    changed = customer_change(customer=customer, name="Somebody else")
    assert (changed.name, changed.phone, changed.notes) == (
        "Somebody else",
        "+12025550143",
        "has a dog",
    )


def test_a_refused_change_leaves_the_record_as_it_was():
    customer = make.CustomerFactory(phone="+12025550143", email="")
    with pytest.raises(Refused):
        customer_change(customer=customer, phone="")
    assert customer.phone == "+12025550143"
    assert Customer.objects.get().phone == "+12025550143"
