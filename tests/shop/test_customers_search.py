"""Finding the caller from whatever they say first."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.selectors import customers_search
from tests import factories as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def caller():
    shop = make.ShopFactory()
    found = make.CustomerFactory(
        shop=shop, name="Marlow Quill", phone="+12025550143", email="mq@example.org"
    )
    make.VehicleFactory(customer=found, plate="ABC 12-34", description="wagon, moss green")
    other = make.CustomerFactory(shop=shop, name="Bram Ostler", phone="+12025550199", email="")
    make.VehicleFactory(customer=other, plate="ZZZ 999", description="van, white")
    return found


@pytest.mark.parametrize(
    "text",
    [
        "marlow", "QUILL", "quill marlow", "arlow", "  Marlow   Quill ",
        "0143", "555 0143", "(202) 555-0143", "+1 202-555-0143", "1.202.555.0143",
        "abc1234", "abc 12", "12-34", "moss green", "mq@example.org", "quill 0143",
    ],
)  # fmt: skip
def test_found_by(caller, text):
    assert customers_search(caller.shop, text) == [caller]


@pytest.mark.parametrize("text", ["", "q", "marlow ostler", "0144", "quill 0199", "--", "%", "__"])
def test_not_found_by(caller, text):
    assert customers_search(caller.shop, text) == []


def test_a_number_dialled_with_a_leading_zero_is_found():
    shop = make.ShopFactory(country="GB")
    caller = make.CustomerFactory(shop=shop, phone="+442079460958")
    assert customers_search(shop, "020 7946 0958") == [caller]
    assert customers_search(shop, "020 7946") == [caller]


def test_another_shops_customers_stay_there(caller):
    assert customers_search(make.ShopFactory(), "marlow") == []


def test_names_that_start_with_the_text_come_first(caller):
    first = make.CustomerFactory(shop=caller.shop, name="Quillon Zander")
    assert customers_search(caller.shop, "quill") == [first, caller]


def test_bounded_in_rows_and_in_queries(caller):
    def queries(limit):
        with CaptureQueriesContext(connection) as counted:
            found = customers_search(caller.shop, "Marlow", limit=limit)
            for row in found:
                list(row.vehicles.all())
        return len(found), len(counted)

    assert queries(10) == (1, 2)
    for number in range(60):
        make.VehicleFactory(
            customer=make.CustomerFactory(shop=caller.shop, name=f"Marlow {number}")
        )
    assert queries(10) == (10, 2)
    assert len(customers_search(caller.shop, "Marlow " * 400, limit=10_000)) == 50
