"""Gauges are checked on shims on a screen of their own, and say whether they still hold."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from estimating.models import GaugeCalibration
from estimating.services.gauges import gauge_calibrate
from tests.factories import NOW, GaugeFactory


@pytest.fixture
def gauge(world):
    """Stated accuracy 1 µm + 1 %."""
    return GaugeFactory(shop=world.small.shop, name="Gauge Q")


def test_a_check_is_kept_and_judged_by_the_stated_accuracy(world, gauge, text):
    tech = world.client("tech")
    url = reverse("gauge_check", args=[gauge.pk])
    # A shim of 50 µm may be off by 1 + 0.5 µm.
    tech.post(url, {"unit": "um", "true-0": "50", "read-0": "51,5"})
    assert GaugeCalibration.objects.get().passed
    assert "Holds" in text(tech.get(reverse("gauges")))
    tech.post(url, {"unit": "um", "true-0": "50", "read-0": "51.6"})
    assert not GaugeCalibration.objects.first().passed
    assert "Reads outside its accuracy" in text(tech.get(reverse("gauges")))


def test_shims_in_mil_are_kept_in_micrometres(world, gauge):
    url = reverse("gauge_check", args=[gauge.pk])
    world.client("tech").post(url, {"unit": "mil", "true-2": "2", "read-2": "2.05"})
    assert GaugeCalibration.objects.get().shims_um == [[50.8, pytest.approx(52.07)]]


def test_an_old_check_is_called_old(world, gauge, text):
    gauge_calibrate(
        gauge=gauge, member=world.small.tech, now=NOW - timedelta(days=400), shims=[(50, 50)]
    )
    assert "Checked too long ago" in text(world.client("tech").get(reverse("gauges")))


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"true-0": "50", "read-0": "fifty"}, "“fifty” is no thickness"),
        ({"true-0": "50", "read-0": ""}, "“” is no thickness"),
        ({"true-0": "50", "read-0": "-3"}, "each above 0"),
        ({}, "Read 1 to 50 shims"),
    ],
)
def test_a_wrong_shim_is_named_and_what_was_typed_stays(world, gauge, text, typed, said):
    url = reverse("gauge_check", args=[gauge.pk])
    answer = world.client("tech").post(url, {"unit": "um", **typed})
    assert answer.status_code == 400
    assert said in text(answer)
    if typed:
        assert f'value="{typed["read-0"]}"' in text(answer)
    assert not GaugeCalibration.objects.exists()


def test_nobody_checks_the_gauge_of_another_shop(world, gauge):
    url = reverse("gauge_check", args=[gauge.pk])
    given = {"unit": "um", "true-0": "50", "read-0": "50"}
    assert world.client("outsider").post(url, given).status_code == 404
    assert not GaugeCalibration.objects.exists()
    assert world.client("tech").post(url, given).status_code == 302


@pytest.mark.parametrize("many", [1, 12])
def test_the_page_reads_little(world, gauge, many):
    for _n in range(many):
        one = GaugeFactory(shop=world.small.shop)
        for days in range(many):
            at = NOW - timedelta(days=days)
            gauge_calibrate(gauge=one, member=world.small.tech, now=at, shims=[(50, 50)])
    client = world.client("owner")
    client.get(reverse("gauges"))
    with CaptureQueriesContext(connection) as seen:
        assert client.get(reverse("gauges")).status_code == 200
    assert len(seen) <= 12
