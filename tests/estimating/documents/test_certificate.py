"""Film readings on paper: what was read on each panel, when, with which gauge."""

import io
import re
from datetime import timedelta

import pytest
from django.urls import reverse
from pypdf import PdfReader

from estimating.documents.certificate import certificate_pdf
from estimating.film_years import film_years
from estimating.services.gauges import gauge_calibrate
from shop.refusals import Refused
from tests.factories import (
    NOW,
    GaugeFactory,
    InspectionFactory,
    MemberFactory,
    PanelFindingFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db
YEAR = timedelta(days=365)


def measured(*years, unit="mil", **changes):
    """A vehicle inspected in these years, a mil lower by a tenth each time."""
    vehicle = VehicleFactory()
    gauge = GaugeFactory(shop=vehicle.shop, name="Gauge one")
    for year in years:
        row = InspectionFactory(
            vehicle=vehicle, shop=vehicle.shop, gauge=gauge, unit=unit, taken_at=NOW + year * YEAR
        )
        spots = [[4.5 - year / 10] * 3, [4.7 - year / 10] * 3]
        PanelFindingFactory(inspection=row, panel="hood", spots=spots, **changes)
    return vehicle, gauge


def text_of(vehicle):
    pages = PdfReader(io.BytesIO(certificate_pdf(vehicle))).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def test_readings_of_each_inspection_stand_side_by_side():
    vehicle, gauge = measured(0, 1)
    member = MemberFactory(shop=vehicle.shop)
    gauge_calibrate(gauge=gauge, member=member, now=NOW + YEAR, shims=[[100.0, 100.2]])
    said = text_of(vehicle)
    for expected in (
        vehicle.customer.name,
        "Hood",
        "4.60 (4.50)",
        "4.50 (4.40)",
        "not checked on shims before",
        "Gauge one, checked on shims 2 Mar 2027",
        "clear coat",
    ):
        assert expected in said, expected


def test_without_a_reading_there_is_nothing_to_certify():
    with pytest.raises(Refused):
        certificate_pdf(measured()[0])


def test_of_many_inspections_the_first_and_the_latest_stay():
    vehicle, _gauge = measured(*range(12))
    years = film_years(vehicle, most=4)
    assert [row.taken_at.year for row in years.inspections] == [2026, 2035, 2036, 2037]


def test_micrometres_and_mils_are_compared_in_one_unit():
    vehicle, _gauge = measured(0)
    metric, _other = measured(0, unit="um")
    (_name, (mil,)) = film_years(vehicle).panels[0]
    (_name, (um,)) = film_years(metric).panels[0]
    assert mil is not None
    assert um is not None
    assert mil.mean_um == pytest.approx(25.4 * um.mean_um)  # 1 mil is 25.4 µm by definition


def test_another_shops_vehicle_is_not_found(client):
    vehicle, _gauge = measured(0)
    client.force_login(MemberFactory().user)
    assert client.get(reverse("certificate", args=[vehicle.pk])).status_code == 404
    client.force_login(MemberFactory(shop=vehicle.shop).user)
    assert client.get(reverse("certificate", args=[vehicle.pk])).content[:5] == b"%PDF-"
