"""At most twelve queries for a page, at two sizes of shop."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from estimating.services.inspections import inspection_save
from estimating.web.words import PANELS
from tests import factories as make
from tests.factories import NOW, fender

MOST = 12


def grow(world):
    """Thirty more customers, vehicles and quotes; more inspections with every panel."""
    for n in range(30):
        customer = make.CustomerFactory(shop=world.small.shop)
        make.VehicleFactory(customer=customer)
        owned = {"vehicle": world.vehicle, "customer": world.vehicle.customer}
        make.QuoteFactory(number=f"F-{n}", **owned)
        make.JobFactory(number=f"F-{n}", **owned)
        make.BayFactory(shop=world.small.shop)
    panels = [fender(panel=panel) for panel in PANELS]
    inspection_save(
        vehicle=world.vehicle,
        member=world.small.tech,
        now=NOW,
        document={"unit": "mil", "panels": panels},
        inspection=world.inspection,
        version=world.inspection.version,
    )


def addresses(world):
    quote = world.quote(inspection=world.inspection)
    return {
        "desk": reverse("desk"),
        "desk, known vehicle": f"{reverse('desk')}?vehicle={world.vehicle.pk}",
        "desk, search": f"{reverse('desk')}?q=caller",
        "customers": reverse("customers"),
        "customers, search": f"{reverse('customers')}?q=caller",
        "customer": reverse("customer", args=[world.vehicle.customer_id]),
        "customer form": reverse("customer_edit", args=[world.vehicle.customer_id]),
        "vehicle": reverse("vehicle", args=[world.vehicle.pk]),
        "vehicle form": reverse("vehicle_edit", args=[world.vehicle.pk]),
        "inspection": reverse("inspection", args=[world.inspection.pk]),
        "new inspection": reverse("inspection_new", args=[world.vehicle.pk]),
        "readings": reverse("readings_in", args=[world.inspection.pk]),
        "gauges": reverse("gauges"),
        "quote": reverse("quote", args=[quote.pk]),
        "visit": reverse("quote_visit", args=[quote.pk]),
    }


def counted(client, urls):
    found = {}
    for name, url in urls.items():
        client.get(url)  # the catalogue is read once and then kept
        with CaptureQueriesContext(connection) as seen:
            assert client.get(url).status_code == 200
        found[name] = len(seen)
    return found


@pytest.mark.parametrize("many", [False, True], ids=["small", "large"])
def test_no_page_needs_more_than_twelve(world, owner, many):
    if many:
        grow(world)
    found = counted(owner, addresses(world))
    assert {name: count for name, count in found.items() if count > MOST} == {}


def test_typing_on_the_sheet_reads_no_more_than_the_page(world, owner):
    url = reverse("inspection", args=[world.inspection.pk])
    typed = {"unit": "mil", "front_left_fender-readings": "4.3 4.2 4.3"}
    owner.post(url, typed, headers={"HX-Request": "true"})
    with CaptureQueriesContext(connection) as seen:
        owner.post(url, typed, headers={"HX-Request": "true"})
    assert len(seen) <= MOST
