"""A sensor's message becomes a reading, or is refused with field, value and remedy."""

import json
from datetime import UTC, datetime

import pytest

from scheduling.models import ClimateReading
from scheduling.sensors.mqtt import message_keep
from tests.scheduling.shops import small_shop

pytestmark = pytest.mark.django_db
GOOD = {"air_c": 20.5, "humidity_percent": 55, "surface_c": 19.5}


def said(small, **changes):
    given = {key: value for key, value in (GOOD | changes).items() if value is not ...}
    topic = f"halfmil/{small.shop.slug}/{small.coating.code}/climate"
    return message_keep(topic, json.dumps(given).encode())


def test_a_reading_is_kept_for_its_bay():
    small = small_shop()
    assert "kept 20.5 °C 55 %" in said(small)
    row = ClimateReading.objects.get()
    assert (row.resource, row.air_c, row.surface_c) == (small.coating, 20.5, 19.5)


def test_the_same_message_again_is_kept_once():
    small = small_shop()
    at = datetime.now(UTC).replace(microsecond=0).isoformat()
    said(small, at=at)
    assert "there already" in said(small, at=at)
    assert ClimateReading.objects.count() == 1


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"air_c": "warm"}, "air_c: 'warm': give a number"),
        ({"air_c": ...}, "air_c: None: give a number"),
        ({"air_c": 99}, "air in a bay has"),
        ({"humidity_percent": 0}, "relative humidity"),
        ({"temp": 3}, "'temp' is not known"),
        ({"at": "yesterday"}, "at: 'yesterday': give a moment"),
        ({"at": "2026-03-02T14:05:00"}, "with its zone"),
        ({"at": "2020-03-02T14:05:00+00:00"}, "clock is off"),
    ],
)
def test_what_is_no_reading_is_refused(changes, words):
    assert words in said(small_shop(), **changes)
    assert not ClimateReading.objects.exists()


@pytest.mark.parametrize(
    ("topic", "payload", "words"),
    [
        ("halfmil/nowhere/bay/climate", b'{"air_c": 20, "humidity_percent": 50}', "has no bay"),
        ("halfmil/bay/climate", b"{}", "use halfmil/SHOP/BAY/climate"),
        ("halfmil/a/b/climate", b"[" * 1_500, "no JSON"),
        ("halfmil/a/b/climate", b"x" * 3_000, "at most"),
        ("halfmil/a/b/climate", b"[]", "give an object"),
    ],
)
def test_what_is_for_nobody_is_refused(topic, payload, words):
    assert words in message_keep(topic, payload)
