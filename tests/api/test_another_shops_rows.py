"""Another shop's row is not there: neither to read, nor to act on, nor to refer to."""

import pytest

from shop.models import Customer, Job, Vehicle
from tests import factories as make


@pytest.fixture
def rows(people):
    """Path of one row each; all of the people's shop."""
    hold = make.HoldFactory(shop=people.shop)
    use = make.MaterialUseFactory(job=hold.job)
    vehicle = hold.job.vehicle
    return {
        "customers": vehicle.customer.pk,
        "vehicles": vehicle.pk,
        "consumables": use.consumable.pk,
        "material-uses": use.pk,
        "gauges": make.GaugeFactory(shop=people.shop).pk,
        "inspections": make.InspectionFactory(shop=people.shop, vehicle=vehicle).pk,
        "quotes": make.QuoteFactory(shop=people.shop, vehicle=vehicle).pk,
        "jobs": hold.job.pk,
        "operations": make.OperationFactory(job=hold.job).pk,
        "resources": hold.resource.pk,
        "holds": hold.pk,
        "reminders": make.ReminderFactory(shop=people.shop, job=hold.job).pk,
    }


ACTIONS = [
    "customers/{}/consent", "gauges/{}/calibrate", "quotes/{}/send", "quotes/{}/accept",
    "quotes/{}/decline", "quotes/{}/book", "jobs/{}/book", "jobs/{}/move", "jobs/{}/cancel",
    "jobs/{}/check-in", "jobs/{}/hand-over", "jobs/{}/no-show", "jobs/{}/close",
    "operations/{}/start", "operations/{}/pause", "operations/{}/finish",
    "reminders/{}/send-now", "reminders/{}/stop",
]  # fmt: skip


def test_rows_are_found_by_their_own_shop_only(people, rows, client_of):
    owner, outsider = client_of(people.owner), client_of(people.outsider)
    for name, pk in rows.items():
        assert owner.get(f"/api/{name}/{pk}/").status_code == 200, name
        assert outsider.get(f"/api/{name}/{pk}/").status_code == 404, name


@pytest.mark.parametrize("action", ACTIONS)
def test_actions_do_not_find_another_shops_row(people, rows, client_of, action):
    path = f"/api/{action.format(rows[action.split('/')[0]])}/"
    assert client_of(people.outsider).post(path, {"why": "because"}).status_code == 404
    # The same request finds it for its own shop, whatever becomes of it.
    assert client_of(people.owner).post(path, {"why": "because"}).status_code != 404


@pytest.mark.parametrize(("name", "model"), [("customers", Customer), ("vehicles", Vehicle)])
def test_changes_do_not_reach_another_shop(people, rows, client_of, name, model):
    before = model.objects.values().get(pk=rows[name])
    answer = client_of(people.outsider).patch(f"/api/{name}/{rows[name]}/", {})
    assert answer.status_code == 404
    assert model.objects.values().get(pk=rows[name]) == before


def test_a_reference_to_another_shops_row_is_refused_at_its_field(people, rows, client_of):
    given = {"customer": rows["customers"], "description": "van, white", "body": "van"}
    assert client_of(people.owner).post("/api/vehicles/", given).status_code == 201
    answer = client_of(people.outsider).post("/api/vehicles/", given)
    assert answer.status_code == 400
    assert list(answer.data["errors"]) == ["customer"]


def test_material_cannot_be_taken_from_another_shops_shelf(people, rows, client_of):
    theirs = make.ConsumableFactory(shop=people.outsider.shop)
    given = {"job": rows["jobs"], "consumable": theirs.pk, "quantity": "1"}
    answer = client_of(people.owner).post("/api/material-uses/", given)
    assert list(answer.data["errors"]) == ["consumable"]
    assert Job.objects.get(pk=rows["jobs"]).materials_used.count() == 1
