"""Customers and vehicles: found, added, changed, with refusals at their fields."""

import pytest
from django.urls import reverse

from shop.models import Consent, Customer, Vehicle


def test_the_list_finds_and_an_empty_answer_offers_the_next_step(world, desk, text):
    assert "Ada Rowe" in text(desk.get(reverse("customers"), {"q": "kx407"}))
    nobody = text(desk.get(reverse("customers"), {"q": "zzz"}))
    assert "Ada Rowe" not in nobody
    assert reverse("customer_new") in nobody


def test_adding_leads_on_to_the_vehicle(world, desk):
    given = {"name": "Rosa Venn", "phone": "202 555 0177"}
    answer = desk.post(reverse("customer_new"), given)
    made = Customer.objects.get(name="Rosa Venn")
    assert made.phone == "+12025550177"
    assert answer.headers["Location"] == reverse("vehicle_new", args=[made.pk])


@pytest.mark.parametrize(
    ("given", "field", "said"),
    [
        ({"name": "Rosa", "phone": "12"}, "phone", "12 is no phone number"),
        ({"name": "", "phone": "202 555 0177"}, "name", "required"),
        ({"name": "Rosa"}, None, "Give a phone number or an e-mail address"),
    ],
)
def test_a_refused_customer_keeps_what_was_typed(world, desk, text, given, field, said):
    before = Customer.objects.count()
    answer = desk.post(reverse("customer_new"), given)
    form = answer.context["form"]
    errors = form.errors[field] if field else form.non_field_errors()
    assert said in " ".join(errors)
    assert answer.status_code == 400
    assert Customer.objects.count() == before
    assert all(f'value="{value}"' in text(answer) for value in given.values() if value)


def test_a_wrong_check_digit_is_shown_and_can_be_overruled(world, desk, text):
    url = reverse("vehicle_new", args=[world.vehicle.customer_id])
    given = {"description": "sedan, grey", "body": "sedan", "hardness": "medium"}
    given["vin"] = (
        "1M8GDM9A1KP042788"  # a widely used example, its check digit X changed to 1 (from memory)
    )
    refused = desk.post(url, given)
    assert refused.status_code == 400
    assert "should be X in position 9" in text(refused)
    assert desk.post(url, {**given, "vin_reason": "not sold there"}).status_code == 302
    assert Vehicle.objects.get(vin=given["vin"]).vin_reason == "not sold there"


def test_consent_is_written_where_it_differs(world, desk):
    url = reverse("customer_consent", args=[world.vehicle.customer_id])
    desk.post(url, {"email-visit": "on", "source": "phone"})
    said = {(row.channel, row.purpose): row.granted for row in Consent.objects.all()}
    assert said == {("email", "visit"): True}
    desk.post(url, {"source": "phone"})
    assert Consent.objects.get().granted is False
