"""An owner reaches the rows of their own shop only, by list, address, choice and search."""

import pytest
from django.urls import reverse

from shop.models import Customer, Vehicle
from tests import factories as make
from tests.admin.forms import errors, filled


@pytest.fixture
def rows(people):
    hold = make.HoldFactory(shop=people.shop)
    operation = make.OperationFactory(job=hold.job)
    vehicle = hold.job.vehicle
    return [
        people.shop, people.technician, vehicle.customer, vehicle, hold.job, hold, hold.resource,
        make.WorkEntryFactory(operation=operation), make.MaterialUseFactory(job=hold.job),
        make.ConsumableFactory(shop=people.shop), make.GaugeFactory(shop=people.shop),
        make.InspectionFactory(shop=people.shop, vehicle=vehicle),
        make.QuoteFactory(shop=people.shop, vehicle=vehicle), make.CureFactory(job=hold.job),
        make.ClimateReadingFactory(resource=hold.resource),
        make.ReminderFactory(shop=people.shop, job=hold.job),
        make.MessageTemplateFactory(shop=people.shop), make.ClosureFactory(shop=people.shop),
        make.OpeningHoursFactory(shop=people.shop),
    ]  # fmt: skip


def address(row, page="change"):
    return reverse(f"admin:{row._meta.app_label}_{row._meta.model_name}_{page}", args=[row.pk])


def test_pages_are_found_by_their_own_shop_only(people, rows, client_of):
    owner, outsider = client_of(people.owner), client_of(people.outsider)
    for row in rows:
        assert owner.get(address(row)).status_code == 200, row
        # Django sends whoever asks for a row that is not there to the index.
        assert outsider.get(address(row)).status_code == 302, row


def test_a_row_of_another_shop_is_no_choice(people, rows, client_of):
    theirs = Customer.objects.get()
    page = client_of(people.outsider).get("/admin/shop/vehicle/add/")
    data = filled(page, customer=theirs.pk, description="van", body="van")
    assert "customer" in errors(client_of(people.outsider).post("/admin/shop/vehicle/add/", data))
    assert client_of(people.owner).post("/admin/shop/vehicle/add/", data).status_code == 302
    assert Vehicle.objects.filter(description="van").count() == 1


def test_the_search_for_a_choice_stays_in_the_shop(people, rows, client_of):
    query = {"app_label": "shop", "model_name": "vehicle", "field_name": "customer", "term": ""}

    def found(member):
        return client_of(member).get("/admin/autocomplete/", query).json()["results"]

    assert len(found(people.owner)) == 1
    assert found(people.outsider) == []


def test_a_new_row_belongs_to_the_owners_shop(people, client_of):
    given = {"name": "Marlow Quill", "phone": "(202) 555-0143", "email": ""}
    page = client_of(people.owner).get("/admin/shop/customer/add/")
    answer = client_of(people.owner).post("/admin/shop/customer/add/", filled(page, **given))
    assert answer.status_code == 302
    added = Customer.objects.get()
    assert (added.shop, added.phone) == (people.shop, "+12025550143")


def test_a_rule_of_the_shop_is_told_in_the_form(people, client_of):
    make.ConsumableFactory(shop=people.shop, code="tape")
    other = make.ConsumableFactory(shop=people.shop, code="towel")
    client = client_of(people.owner)
    page = client.get(address(other))
    assert "already exists" in errors(client.post(address(other), filled(page, code="tape")))
