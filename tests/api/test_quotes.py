"""Quotes over HTTP: made, sent, declined, accepted."""

from datetime import timedelta
from decimal import Decimal

import pytest
import time_machine

from estimating.models import Quote
from shop.models import Job
from tests import factories as make
from tests.factories import NOW

PATH = "/api/quotes/"


@pytest.fixture
def desk(db):
    return make.FrontDeskFactory(shop=make.stocked_shop())


@pytest.fixture
def ask(desk):
    vehicle = make.VehicleFactory(shop=desk.shop)
    return {
        "customer": vehicle.customer.pk,
        "vehicle": vehicle.pk,
        "goal": {"cleared": 0.6},
    }


def test_made_from_what_a_caller_told(desk, ask, client_of):
    answer = client_of(desk).post(PATH, ask)
    assert answer.status_code == 201, answer.data
    quote = Quote.objects.get()
    assert answer.data["number"] == quote.number
    assert answer.data["estimate"]["format"] == "halfmil-estimate/1"
    assert answer.data["operations"]
    assert quote.member == desk
    row = client_of(desk).get(PATH).data["results"][0]
    assert "estimate" not in row
    assert row["price"] == answer.data["price"]


def test_a_price_under_the_floor_needs_an_owner_and_a_reason(desk, ask, client_of):
    # The target margin of 45 % leaves 21 % at seven tenths of the price; the floor is 25 %.
    usual = Decimal(client_of(desk).post(PATH, ask).data["price"])
    cheap = {**ask, "price": f"{usual * 7 / 10:.2f}", "reason": "a friend"}
    assert client_of(desk).post(PATH, cheap).status_code == 403
    owner = client_of(make.MemberFactory(shop=desk.shop))
    assert owner.post(PATH, {**cheap, "reason": ""}).status_code == 403
    assert Quote.objects.count() == 1
    answer = owner.post(PATH, cheap)
    assert answer.status_code == 201
    assert answer.data["below_floor_reason"] == "a friend"


def test_a_wrong_goal_is_refused(desk, ask, client_of):
    answer = client_of(desk).post(PATH, {**ask, "goal": {"cleared": 2}})
    assert answer.status_code == 400
    assert not Quote.objects.exists()


def test_sent_then_accepted_once(desk, ask, client_of):
    client = client_of(desk)
    pk = client.post(PATH, ask).data["id"]
    assert client.post(f"{PATH}{pk}/send/").data["state"] == "sent"
    answer = client.post(f"{PATH}{pk}/accept/")
    assert answer.status_code == 200
    job = Job.objects.get()
    assert answer.data == {"job": job.pk, "number": job.number}
    assert client.post(f"{PATH}{pk}/accept/").status_code == 409
    assert Job.objects.count() == 1


def test_declined_with_a_reason(desk, ask, client_of):
    client = client_of(desk)
    pk = client.post(PATH, ask).data["id"]
    assert list(client.post(f"{PATH}{pk}/decline/", {}).data["errors"]) == ["why"]
    answer = client.post(f"{PATH}{pk}/decline/", {"why": "too dear"})
    assert (answer.data["state"], answer.data["declined_why"]) == ("declined", "too dear")


def test_an_acceptance_after_the_validity_is_refused(desk, ask, client_of):
    client = client_of(desk)
    pk = client.post(PATH, ask).data["id"]
    with time_machine.travel(NOW + timedelta(days=60), tick=False):
        # Signed in anew: a session does not last that long either.
        answer = client_of(desk).post(f"{PATH}{pk}/accept/")
    assert answer.status_code == 400
    assert not Job.objects.exists()


def test_what_was_offered_cannot_be_changed(desk, ask, client_of):
    client = client_of(desk)
    pk = client.post(PATH, ask).data["id"]
    for method in (client.put, client.patch, client.delete):
        assert method(f"{PATH}{pk}/", {"price": "1.00"}).status_code == 405
