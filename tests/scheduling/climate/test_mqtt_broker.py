"""Against a real broker: what is published while nobody listens is kept afterwards, once."""

import secrets
import time

import paho.mqtt.client as paho
import pytest
from paho.mqtt.enums import CallbackAPIVersion

from scheduling.models import ClimateReading
from scheduling.sensors import mqtt
from scheduling.sensors.mqtt import subscriber
from tests import reachable
from tests.scheduling.shops import small_shop

pytestmark = [pytest.mark.mqtt, pytest.mark.django_db(transaction=True)]
PATIENCE_SECONDS = 10


def url():
    return reachable.mqtt_broker()[0]


def publish(topic, payload):
    client = paho.Client(CallbackAPIVersion.VERSION2)
    host, port = url().removeprefix("mqtt://").split(":")
    client.connect(host, int(port))
    client.loop_start()
    client.publish(topic, payload, qos=1).wait_for_publish(PATIENCE_SECONDS)
    client.loop_stop()
    client.disconnect()


def listen(name, until):
    """Run a subscriber in this thread, so that it uses this test's database."""
    lines: list[str] = []
    client = subscriber(url(), lines.append, name=name)
    end = time.monotonic() + PATIENCE_SECONDS
    while not until(lines) and time.monotonic() < end:
        client.loop(0.1)
    client.disconnect()
    client.loop(0.1)
    return lines


@pytest.fixture
def name(monkeypatch):
    # A topic of this test's own: the broker is shared.
    root = f"halfmil-{secrets.token_hex(4)}"
    monkeypatch.setattr("scheduling.sensors.message.ROOT", root)
    monkeypatch.setattr(mqtt, "TOPICS", f"{root}/+/+/climate")
    return root


def test_a_reading_published_between_two_runs_is_not_lost(name):
    small = small_shop()
    topic = f"{name}/{small.shop.slug}/{small.coating.code}/climate"
    assert any("listening" in line for line in listen(name, bool))
    publish(topic, b'{"air_c": 18, "humidity_percent": 60}')
    lines = listen(name, lambda said: any("kept" in line for line in said))
    assert any("kept 18 °C 60 %" in line for line in lines)
    soon = time.monotonic() + 1
    again = listen(name, lambda said: len(said) > 1 or time.monotonic() > soon)
    assert not any("climate: " in line for line in again)
    assert ClimateReading.objects.get().air_c == 18
