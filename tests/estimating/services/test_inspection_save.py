"""Findings are kept as they were entered, and nobody overwrites anybody unseen."""

import pytest

from estimating import selectors
from estimating.models import Inspection, PanelFinding
from estimating.services.inspections import inspection_save
from shop.models import Member, Vehicle
from shop.refusals import Conflict
from tests.factories import NOW, GaugeFactory, fender

SCRATCH = {"kind": "deep_scratch", "severity": "moderate", "count": 1, "local_reading": 3.8}
SWIRLS = {"kind": "swirl_marks", "severity": "light", "extent": 0.6}
PANELS = [
    fender(spots=[[4, 4.25, 4.3], [4.4, 4.4, 4.5]], defects=[SWIRLS, SCRATCH]),
    {"panel": "front_bumper", "substrate": "composite", "spots": [], "defects": []},
]


def test_document_comes_back_as_it_went_in(vehicle: Vehicle, owner: Member) -> None:
    kept = inspection_save(
        vehicle=vehicle, member=owner, now=NOW, document={"unit": "mil", "panels": PANELS}
    )
    document = selectors.inspection_document(Inspection.objects.get(pk=kept.pk))
    assert (document["unit"], document["panels"]) == ("mil", PANELS)


def test_document_says_what_vehicle_and_gauge_it_was(vehicle: Vehicle, owner: Member) -> None:
    gauge = GaugeFactory(shop=vehicle.shop, accuracy_share=0.03)
    vehicle.storage = "garage"
    kept = inspection_save(
        vehicle=vehicle,
        member=owner,
        now=NOW,
        document={"unit": "um", "panels": []},
        gauge=gauge,
    )
    document = selectors.inspection_document(kept)
    assert document["gauge"]["accuracy_share"] == 0.03
    assert document["vehicle"] == {
        "body": "pickup",
        "age_months": 4,
        "paint": {"hardness": "medium"},
        "storage": "garage",
        "colour": "dark",
    }


def test_saving_again_replaces_all_panels(inspection: Inspection, owner: Member) -> None:
    inspection_save(
        vehicle=inspection.vehicle,
        member=owner,
        now=NOW,
        document={"unit": "mil", "panels": PANELS[1:]},
        inspection=inspection,
        version=1,
    )
    assert inspection.version == 2
    assert [row.panel for row in inspection.panels.all()] == ["front_bumper"]


@pytest.mark.parametrize("version", [1, None, 3])
def test_a_stale_version_is_told_and_nothing_is_overwritten(
    inspection: Inspection, owner: Member, version: int | None
) -> None:
    Inspection.objects.filter(pk=inspection.pk).update(version=2, notes="by a colleague")
    before = list(PanelFinding.objects.values_list("pk", flat=True))
    with pytest.raises(Conflict):
        inspection_save(
            vehicle=inspection.vehicle,
            member=owner,
            now=NOW,
            document={"unit": "mil", "panels": []},
            inspection=inspection,
            version=version,
        )
    inspection.refresh_from_db()
    assert (inspection.version, inspection.notes) == (2, "by a colleague")
    assert list(PanelFinding.objects.values_list("pk", flat=True)) == before
