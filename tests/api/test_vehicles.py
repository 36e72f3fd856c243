"""Vehicles over HTTP: a VIN's check digit is shown and can be overruled."""

import pytest

from shop.models import Vehicle
from tests import factories as make


@pytest.fixture
def add(people, client_of):
    client, customer = client_of(people.desk), make.CustomerFactory(shop=people.shop)

    def added(**facts):
        known = {"customer": customer.pk, "description": "wagon, moss green", "body": "wagon"}
        return client.post("/api/vehicles/", known | facts)

    return added


def test_added(add, people):
    answer = add(vin="1G4AH59H4 5G118341", plate="abc 123")
    assert answer.status_code == 201
    assert (answer.data["vin"], answer.data["plate"]) == ("1G4AH59H45G118341", "ABC 123")
    assert Vehicle.objects.get().shop == people.shop


def test_a_wrong_check_digit_is_shown(add):
    answer = add(vin="1G4AH59H55G118341")
    assert answer.status_code == 400
    assert "should be 4" in answer.data["errors"]["vin"][0]
    assert not Vehicle.objects.exists()


def test_and_overruled_with_a_reason(add):
    answer = add(vin="1G4AH59H55G118341", vin_reason="made for another market")
    assert answer.status_code == 201


def test_unknown_words_are_refused(add):
    assert set(add(body="boat", tone="red").data["errors"]) == {"body", "tone"}


def test_technicians_read_but_do_not_write(add, people, client_of):
    pk = add().data["id"]
    technician = client_of(people.technician)
    assert technician.get(f"/api/vehicles/{pk}/").status_code == 200
    assert technician.patch(f"/api/vehicles/{pk}/", {"plate": "X"}).status_code == 403
    assert Vehicle.objects.get().plate == ""


def test_filtered(add, people, client_of):
    add()
    add(body="van")
    answer = client_of(people.desk).get("/api/vehicles/", {"body": "van"})
    assert [row["body"] for row in answer.data["results"]] == ["van"]
