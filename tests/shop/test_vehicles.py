"""A VIN is right, or has a reason to stand."""

import pytest

from shop.models import Vehicle
from shop.refusals import Refused
from shop.services.vehicles import vehicle_add, vehicle_change
from tests import factories as make

pytestmark = pytest.mark.django_db

RIGHT = "1G4AH59H45G118341"  # 49 CFR 565, worked example
WRONG = "1G4AH59H55G118341"  # its check digit changed


def add(customer=None, **facts):
    known = {"description": "pickup, dark blue", "body": "pickup", **facts}
    return vehicle_add(customer=customer or make.CustomerFactory(), **known)


def refusal(**facts):
    with pytest.raises(Refused) as refused:
        add(**facts)
    return refused.value.by_field()


def test_a_vin_is_kept_without_spaces_in_capitals():
    assert add(vin="1g4ah59h4 5g118341").vin == RIGHT


def test_a_wrong_check_digit_is_refused_and_the_right_one_named():
    assert "should be 4 in position 9" in refusal(vin=WRONG)["vin"][0]
    assert not Vehicle.objects.exists()


def test_it_stands_with_a_reason():
    added = add(vin=WRONG, vin_reason="made for another market")
    assert (added.vin, added.vin_reason) == (WRONG, "made for another market")


def test_a_reason_that_nothing_needs_is_not_kept():
    assert add(vin=RIGHT, vin_reason="no idea").vin_reason == ""


def test_no_reason_makes_a_malformed_vin_stand():
    assert "17 letters" in refusal(vin="1G4AH59H45G11834O", vin_reason="so it says")["vin"][0]
    assert "vin" in refusal(vin="123", vin_reason="so it says")


def test_one_vin_is_one_vehicle_of_a_shop():
    customer = make.CustomerFactory()
    add(customer, vin=RIGHT)
    with pytest.raises(Refused):
        add(customer, vin=RIGHT)
    assert add(vin=RIGHT).shop != customer.shop


@pytest.mark.parametrize(
    ("facts", "field"),
    [({"body": "boat"}, "body"), ({"description": ""}, "description"), ({"tone": "red"}, "tone")],
)
def test_refused_by_field(facts, field):
    assert list(refusal(**facts)) == [field]


def test_a_vehicle_changes_hands_within_the_shop_only():
    vehicle = add()
    buyer = make.CustomerFactory(shop=vehicle.shop)
    assert vehicle_change(vehicle=vehicle, customer=buyer).customer == buyer
    with pytest.raises(Refused) as refused:
        vehicle_change(vehicle=vehicle, customer=make.CustomerFactory())
    assert list(refused.value.by_field()) == ["customer"]
