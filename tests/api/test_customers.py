"""Customers and consent over HTTP."""

import pytest

from shop.models import Consent, Customer
from tests import factories as make
from tests.factories import NOW


@pytest.fixture
def client(people, client_of):
    return client_of(people.desk)


def test_added_and_read_back(client, people):
    answer = client.post("/api/customers/", {"name": "A caller", "phone": "(202) 555-0143"})
    assert answer.status_code == 201
    assert answer.data["phone"] == "+12025550143"
    assert Customer.objects.get().shop == people.shop
    assert client.get(f"/api/customers/{answer.data['id']}/").data == answer.data


def test_refused_by_field_and_nothing_written(client):
    answer = client.post("/api/customers/", {"name": "A caller", "phone": "555-0143"})
    assert answer.status_code == 400
    assert list(answer.data["errors"]) == ["phone"]
    assert not Customer.objects.exists()


def test_changed(client, people):
    customer = make.CustomerFactory(shop=people.shop, notes="has a dog")
    answer = client.patch(f"/api/customers/{customer.pk}/", {"name": "Somebody else"})
    assert (answer.data["name"], answer.data["notes"]) == ("Somebody else", "has a dog")


@pytest.mark.parametrize("text", ["quill", "555-0143", "abc 123"])
def test_searched(client, people, text):
    found = make.CustomerFactory(shop=people.shop, name="Marlow Quill", phone="+12025550143")
    make.VehicleFactory(customer=found, plate="ABC 123")
    make.CustomerFactory(shop=people.shop, name="Bram Ostler", phone="+12025550100")
    answer = client.get("/api/customers/", {"search": text})
    assert [row["id"] for row in answer.data["results"]] == [found.pk]


def test_consent_is_recorded_with_its_moment(client, people):
    customer = make.CustomerFactory(shop=people.shop)
    said = {"channel": "text", "purpose": "visit", "granted": True, "source": "phone"}
    answer = client.post(f"/api/customers/{customer.pk}/consent/", said)
    assert answer.status_code == 200
    consent = Consent.objects.get()
    assert (consent.customer, consent.granted, consent.said_at) == (customer, True, NOW)
    listed = client.get(f"/api/customers/{customer.pk}/").data["consents"]
    assert [word["channel"] for word in listed] == ["text"]


def test_pages(client, people):
    for _ in range(3):
        make.CustomerFactory(shop=people.shop)
    answer = client.get("/api/customers/", {"limit": 2})
    assert answer.data["count"] == 3
    assert len(answer.data["results"]) == 2
    assert "offset=2" in answer.data["next"]
