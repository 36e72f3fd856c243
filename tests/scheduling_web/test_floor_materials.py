"""Materials by tapping: a round portion of what was planned, logged for the work in hand."""

from decimal import Decimal

import pytest
from django.urls import reverse

from scheduling.web.floor_page import portion_of
from shop.models import MaterialUse
from tests import factories as make


@pytest.mark.parametrize(
    ("planned", "portion"),
    [
        ("100", "20"),  # a quarter is 25; 20 is nearer than 50
        ("160.18", "50"),  # 40.0 is as far from 20 as it is not from 50
        ("1.75", "0.5"),
        ("3", "1"),  # pieces are taken one by one
        ("1", "1"),
        ("0.12", "0.02"),  # a quarter is 0.03: 0.02 is nearer than 0.05
        ("2000", "500"),
    ],
)
def test_a_portion_is_a_round_quarter(planned: str, portion: str) -> None:
    assert portion_of(Decimal(planned)) == Decimal(portion)


def test_a_tap_logs_the_portion_for_the_operation(world, tech, text) -> None:
    job = world.here(world.booked())
    wash = job.operations.first()
    item = make.PlannedMaterialFactory(job=job, quantity=Decimal(45)).consumable
    seen = text(tech.get(reverse("floor")))
    assert "+10 ml" in seen
    assert "0 of 45 ml" in seen
    values = {"consumable": item.pk, "quantity": "10"}
    seen = text(tech.post(reverse("floor_take", args=[wash.pk]), values, follow=True))
    assert f"10 ml of {item.name} logged." in seen
    assert "10 of 45 ml" in seen
    use = MaterialUse.objects.get()
    assert (use.operation, use.quantity) == (wash, Decimal(10))


def test_a_wrong_portion_is_refused(world, tech) -> None:
    job = world.here(world.booked())
    address = reverse("floor_take", args=[job.operations.first().pk])
    item = make.ConsumableFactory(shop=world.small.shop)
    for quantity in ("0", "-3", "nan"):
        answer = tech.post(address, {"consumable": item.pk, "quantity": quantity})
        assert answer.status_code == 400
    assert not MaterialUse.objects.exists()
