"""Who may ask for what; everybody asks for the same rows of one set-up."""

import pytest

from tests import factories as make

DESK_ONLY = ["customers", "quotes", "reminders"]
FOR_ALL = [
    "vehicles", "consumables", "material-uses", "inspections", "gauges",
    "jobs", "operations", "resources", "holds", "climate-readings",
]  # fmt: skip


@pytest.fixture
def one_of_each(people):
    """One row in every list, all of the people's shop."""
    hold = make.HoldFactory(shop=people.shop)
    make.OperationFactory(job=hold.job)
    make.MaterialUseFactory(job=hold.job)
    make.GaugeFactory(shop=people.shop)
    make.InspectionFactory(shop=people.shop, vehicle=hold.job.vehicle)
    make.QuoteFactory(shop=people.shop, vehicle=hold.job.vehicle)
    make.ClimateReadingFactory(resource=hold.resource)
    make.ReminderFactory(shop=people.shop, job=hold.job)
    return people


def ask(client, name):
    return client.get(f"/api/{name}/")


@pytest.mark.parametrize("name", [*DESK_ONLY, *FOR_ALL])
def test_owner_and_front_desk_see_the_row(one_of_each, client_of, name):
    for member in (one_of_each.owner, one_of_each.desk):
        answer = ask(client_of(member), name)
        assert answer.status_code == 200
        assert answer.data["count"] == 1


@pytest.mark.parametrize("name", FOR_ALL)
def test_technicians_see_what_work_needs(one_of_each, client_of, name):
    answer = ask(client_of(one_of_each.technician), name)
    assert answer.data["count"] == 1


@pytest.mark.parametrize("name", DESK_ONLY)
def test_technicians_see_neither_addresses_nor_prices(one_of_each, client_of, name):
    assert ask(client_of(one_of_each.technician), name).status_code == 403


@pytest.mark.parametrize("name", [*DESK_ONLY, *FOR_ALL])
def test_an_outsider_sees_an_empty_list(one_of_each, client_of, name):
    answer = ask(client_of(one_of_each.outsider), name)
    assert answer.status_code == 200
    assert answer.data["count"] == 0


@pytest.mark.parametrize("name", [*DESK_ONLY, *FOR_ALL, "catalogue"])
def test_nobody_gets_in_without_signing_in(one_of_each, client_of, name):
    assert ask(client_of(None), name).status_code == 403


def test_who_has_left_is_out(one_of_each, client_of):
    client = client_of(one_of_each.owner)
    assert ask(client, "jobs").status_code == 200
    one_of_each.owner.active = False
    one_of_each.owner.save()
    assert ask(client, "jobs").status_code == 403


def test_jobs_carry_no_money_but_their_costing_is_for_the_desk(one_of_each, client_of):
    technician, desk = client_of(one_of_each.technician), client_of(one_of_each.desk)
    job = technician.get("/api/jobs/").data["results"][0]
    assert not [name for name in job if "price" in name or "rate" in name or "estimated" in name]
    assert technician.get(f"/api/jobs/{job['id']}/costing/").status_code == 403
    assert desk.get(f"/api/jobs/{job['id']}/costing/").data["price"] == "640.000"
