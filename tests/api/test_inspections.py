"""Inspections over HTTP: kept as read, never over somebody else's."""

import pytest

from estimating.models import Inspection
from tests import factories as make
from tests.factories import fender

PATH = "/api/inspections/"
SHEET = {"unit": "mil", "panels": [fender()]}


@pytest.fixture
def vehicle(people):
    return make.VehicleFactory(shop=people.shop)


@pytest.fixture
def client(people, client_of):
    return client_of(people.technician)


def test_begun_and_read_back_as_it_was(client, vehicle, people):
    gauge = make.GaugeFactory(shop=people.shop)
    given = {"vehicle": vehicle.pk, "gauge": gauge.pk, "document": SHEET, "notes": "wet hood"}
    answer = client.post(PATH, given)
    assert answer.status_code == 201
    kept = client.get(f"{PATH}{answer.data['id']}/").json()
    assert kept["document"]["panels"] == [fender()]
    assert kept["document"]["vehicle"]["body"] == "pickup"
    assert (kept["version"], kept["notes"], kept["finished"]) == (1, "wet hood", False)
    assert kept["member"] == people.technician.pk


def test_saved_again_only_over_the_version_that_was_read(client, vehicle):
    pk = client.post(PATH, {"vehicle": vehicle.pk, "document": SHEET, "notes": "dry"}).data["id"]
    change = {"version": 1, "document": {"unit": "um", "panels": []}}
    answer = client.patch(f"{PATH}{pk}/", change)
    assert answer.status_code == 200
    assert (answer.data["version"], answer.data["unit"], answer.data["notes"]) == (2, "um", "dry")
    again = client.patch(f"{PATH}{pk}/", change)
    assert again.status_code == 409
    assert "version" in again.data["errors"]


@pytest.mark.parametrize(
    ("sheet", "path"),
    [
        ({"unit": "mil", "panels": [fender(spots=[])]}, "$.panels[0].spots"),
        ({"unit": "inch", "panels": []}, "$.unit"),
        ({"unit": "mil"}, "$.panels"),
        ({"unit": "mil", "panels": [], "goal": {"cleared": 1}}, "$.goal"),
    ],
)
def test_refused_by_path_and_nothing_written(client, vehicle, sheet, path):
    answer = client.post(PATH, {"vehicle": vehicle.pk, "document": sheet})
    assert answer.status_code == 400
    assert list(answer.data["errors"]) == [path]
    assert not Inspection.objects.exists()


def test_a_version_is_needed_to_save_again_and_not_to_begin(client, vehicle):
    begun = {"vehicle": vehicle.pk, "document": SHEET}
    assert "version" in client.post(PATH, {**begun, "version": 1}).data["errors"]
    pk = client.post(PATH, begun).data["id"]
    assert "version" in client.patch(f"{PATH}{pk}/", {"document": SHEET}).data["errors"]
