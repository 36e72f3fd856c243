"""Each page as owner, front desk, technician, outsider and nobody, with one set-up."""

import pytest
from django.test import Client
from django.urls import reverse

from tests.factories import MemberFactory, stocked_shop

DESK_ONLY = {"owner": 200, "desk": 200, "tech": 403, "outsider": 404}
ALL_ROLES = {"owner": 200, "desk": 200, "tech": 200, "outsider": 404}
# A page without a record of its own opens for an outsider too: on their own shop.
OWN_SHOP = {**DESK_ONLY, "outsider": 200}

PAGES = {
    "customers": OWN_SHOP,
    "customer_new": OWN_SHOP,
    "customer": DESK_ONLY,
    "customer_edit": DESK_ONLY,
    "vehicle_new": DESK_ONLY,
    "vehicle_edit": DESK_ONLY,
    "vehicle": ALL_ROLES,
    "inspection": ALL_ROLES,
    "inspection_new": ALL_ROLES,
    "readings_in": ALL_ROLES,
    "quote": DESK_ONLY,
    "quote_visit": DESK_ONLY,
    # The outsider's own shop has no catalogue yet, and the desk says so.
    "desk": {**DESK_ONLY, "outsider": 409},
}


def address(world, name):
    keys = {
        "customer": world.vehicle.customer_id,
        "customer_edit": world.vehicle.customer_id,
        "vehicle_new": world.vehicle.customer_id,
        "vehicle": world.vehicle.pk,
        "vehicle_edit": world.vehicle.pk,
        "inspection_new": world.vehicle.pk,
        "inspection": world.inspection.pk,
        "readings_in": world.inspection.pk,
    }
    if name.startswith("quote"):
        keys[name] = world.quote().pk
    return reverse(name, args=[keys[name]] if name in keys else [])


@pytest.mark.parametrize("name", PAGES)
def test_page_opens_for_those_it_is_for(world, name):
    url = address(world, name)
    found = {who: world.client(who).get(url).status_code for who in PAGES[name]}
    assert found == PAGES[name]


@pytest.mark.parametrize("name", PAGES)
def test_nobody_is_asked_to_sign_in_first(world, name):
    url = address(world, name)
    answer = Client().get(url)
    assert answer.status_code == 302
    assert answer.headers["Location"].startswith(reverse("sign_in"))


@pytest.mark.parametrize("action", ["quote_letter", "quote_no"])
def test_outsider_and_technician_change_no_quote(world, action):
    quote = world.quote()
    url = reverse(action, args=[quote.pk])
    found = {who: world.client(who).post(url).status_code for who in ("outsider", "tech")}
    quote.refresh_from_db()
    assert (found, quote.state) == ({"outsider": 404, "tech": 403}, "open")
    assert world.client("desk").post(url, {"by": "hand", "why": "too dear"}).status_code == 302
    quote.refresh_from_db()
    assert quote.state in ("sent", "declined")


def test_a_desk_takes_no_vehicle_of_another_shop(world, text):
    make_desk = MemberFactory(shop=stocked_shop())
    client = Client()
    client.force_login(make_desk.user)
    asked = {"vehicle": world.vehicle.pk}
    assert "Ada Rowe" in text(world.client("desk").get(reverse("desk"), asked))
    assert "Ada Rowe" not in text(client.get(reverse("desk"), asked))
