"""A caller misheard or mistyped is found, on either database, in a bounded search."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.callers import Typed, callers_search, typed_apart
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
        "Marlwo", "marrlow", "narlow", "Qwill", "qill", "Quil Marlwo", "MÁRLOW",
        "555 0134", "(202) 555-0413", "2025550144",
        "abd1234", "ABC-1324", "abc 123", "wagon mos", "mooss green",
    ],
)  # fmt: skip
def test_found_in_spite_of(caller, text):
    assert callers_search(caller.shop, text) == [caller]


@pytest.mark.parametrize("text", ["", "q", "zq", "Oswin", "555 9999", "XYZ 4321", "Marlow Ostlre"])
def test_nobody_else_is_taken_for_them(caller, text):
    assert callers_search(caller.shop, text) == []


def test_another_shops_customers_stay_there(caller):
    assert callers_search(make.ShopFactory(), "Marlwo") == []


def test_who_fits_exactly_stands_before_who_nearly_fits(caller):
    exact = make.CustomerFactory(shop=caller.shop, name="Harlow Pike")
    assert callers_search(caller.shop, "harlow") == [exact, caller]


def test_bounded_in_rows_and_in_queries(caller):
    def counted():
        with CaptureQueriesContext(connection) as seen:
            found = callers_search(caller.shop, "Marlwo Qill", limit=6)
            for row in found:
                list(row.vehicles.all())
        return len(found), len(seen)

    small = counted()
    for number in range(40):
        customer = make.CustomerFactory(shop=caller.shop, name=f"Marlow Quill {number}")
        make.VehicleFactory(customer=customer)
    assert (small[0], counted()[0]) == (1, 6)
    assert counted()[1] == small[1] <= 5


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("Rosa Venn", Typed(name="Rosa Venn")),
        ("202 555 0177", Typed(phone="202 555 0177")),
        ("Rosa Venn (202) 555-0177", Typed(name="Rosa Venn", phone="(202) 555-0177")),
        ("KX407", Typed(plate="KX407")),
        ("Rosa AB12 345", Typed(name="Rosa", plate="AB12 345")),
        ("Rosa rosa@example.org", Typed(name="Rosa", email="rosa@example.org")),
    ],
)
def test_one_box_told_apart(text, told):
    assert typed_apart(text) == told
