"""What a sheet has no field for survives its saving, in the unit that the sheet then has."""

from datetime import timedelta

import pytest
from django.urls import reverse

from estimating.services.gauges import gauge_calibrate
from estimating.services.inspections import inspection_save
from tests.factories import NOW, GaugeFactory, fender

TRIAL = {"level": "two", "before": [[4.4, 4.4, 4.4]], "after": [[4.2, 4.2, 4.2]], "cleared": 0.9}
ENTERED = {
    "front_left_fender-substrate": "steel",
    "front_left_fender-readings": "4.3 4.2 4.3",
    "save": "yes",
}


@pytest.fixture
def saved(world):
    return inspection_save(
        vehicle=world.vehicle,
        member=world.small.tech,
        now=NOW,
        document={"unit": "mil", "panels": [fender(test_spot=TRIAL, covered=True)]},
    )


@pytest.mark.parametrize(("unit", "before"), [("mil", 4.4), ("um", 111.76)])
def test_a_test_spot_and_a_cover_are_not_lost(world, saved, unit, before):
    url = reverse("inspection", args=[saved.pk])
    readings = "4.3 4.2 4.3" if unit == "mil" else "109 107 109"
    typed = {**ENTERED, "unit": unit, "front_left_fender-readings": readings, "version": "1"}
    assert world.client("tech").post(url, typed).status_code == 302
    kept = saved.panels.get()
    assert kept.covered is True
    assert kept.test_spot["before"] == [[pytest.approx(before)] * 3]
    assert (kept.test_spot["level"], kept.test_spot["cleared"]) == ("two", 0.9)


def test_a_stale_gauge_is_told_while_typing(world, saved):
    gauge = GaugeFactory(shop=world.small.shop)
    checked = NOW - timedelta(days=400)
    gauge_calibrate(gauge=gauge, member=world.small.tech, now=checked, shims=[(50, 50)])
    url = reverse("inspection", args=[saved.pk])
    typed = {**ENTERED, "unit": "mil", "gauge": str(gauge.pk)}
    answer = world.client("tech").post(url, typed, headers={"HX-Request": "true"})
    assert "last calibrated 400 days ago" in answer.text
