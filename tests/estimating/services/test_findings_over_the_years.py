"""Test spots, protection film and earlier inspections go from records into estimates."""

from datetime import UTC, datetime, timedelta
from typing import Any

from estimating.models import Inspection
from estimating.selectors import inspection_document
from estimating.services.estimates import estimate_make
from estimating.services.inspections import inspection_save
from shop.models import Member, Vehicle
from tests.factories import NOW, TODAY, VehicleFactory, fender

TRIAL = {"level": "two", "before": [[4.4, 4.4, 4.4]], "after": [[4.2, 4.2, 4.2]], "cleared": 0.9}


def saved(
    vehicle: Vehicle, member: Member, at: datetime = NOW, unit: str = "mil", **panel: Any
) -> Inspection:
    document = {"unit": unit, "panels": [fender(**panel)]}
    kept = inspection_save(vehicle=vehicle, member=member, now=at, document=document)
    return Inspection.objects.get(pk=kept.pk)


def test_test_spot_and_cover_come_back(vehicle: Vehicle, owner: Member) -> None:
    spot = saved(vehicle, owner, test_spot=TRIAL, covered=True)
    assert inspection_document(spot)["panels"] == [fender(test_spot=TRIAL, covered=True)]


def test_a_kept_test_spot_teaches_the_estimate(vehicle: Vehicle, owner: Member) -> None:
    def removal(**panel: Any) -> float:
        document = inspection_document(saved(vehicle, owner, **panel))
        made = estimate_make(
            shop=vehicle.shop, document=document | {"goal": {"cleared": 0.6}}, day=TODAY
        )
        return made.panels[0].removal_um

    assert removal(test_spot=TRIAL) > removal()


def test_film_of_earlier_inspections(vehicle: Vehicle, owner: Member) -> None:
    saved(vehicle, owner, datetime(2024, 3, 2, 15, tzinfo=UTC), "um", spots=[[127, 127, 127]])
    saved(vehicle, owner, datetime(2025, 3, 3, 15, tzinfo=UTC), spots=[[4.8, 4.9, 5.0], [4.7] * 3])
    saved(vehicle, owner, NOW - timedelta(days=20))  # this month: no rate to speak of
    saved(VehicleFactory(shop=vehicle.shop), owner, datetime(2024, 5, 1, tzinfo=UTC))
    now = saved(vehicle, owner)
    saved(vehicle, owner, NOW + timedelta(days=60))
    document = inspection_document(now)
    assert document["panels"][0]["earlier"] == [
        {"months_ago": 24, "film": 5.0},
        {"months_ago": 11, "film": 4.8},
    ]
    made = estimate_make(
        shop=vehicle.shop, document=document | {"goal": {"cleared": 0.6}}, day=TODAY
    )
    assert any("used in 24 months" in reason for reason in made.panels[0].reasons)


def test_readings_over_protection_film_are_no_earlier_paint(
    vehicle: Vehicle, owner: Member
) -> None:
    saved(vehicle, owner, datetime(2024, 3, 2, tzinfo=UTC), covered=True)
    assert "earlier" not in inspection_document(saved(vehicle, owner))["panels"][0]


def test_earlier_film_in_a_document_is_not_kept_twice(vehicle: Vehicle, owner: Member) -> None:
    kept = saved(vehicle, owner, earlier=[{"months_ago": 5, "film": 4.9}])
    assert inspection_document(kept)["panels"] == [fender()]


def test_one_query_however_many_inspections(
    vehicle: Vehicle, owner: Member, django_assert_num_queries: Any
) -> None:
    for months in range(2, 70):
        saved(vehicle, owner, NOW - timedelta(days=31 * months))
    kept = Inspection.objects.select_related("vehicle", "shop", "gauge").get(
        pk=saved(vehicle, owner).pk
    )
    with django_assert_num_queries(1):
        document = inspection_document(kept)
    earlier = document["panels"][0]["earlier"]
    assert len(earlier) == 50
    assert earlier[0]["months_ago"] > earlier[1]["months_ago"] + 10
