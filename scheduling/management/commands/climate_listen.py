"""``manage.py climate_listen``: keep what the bays' sensors publish over MQTT."""

from __future__ import annotations

import sys
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

from scheduling.sensors.mqtt import subscriber

NOT_THERE, NOT_SET = 1, 2


class Command(BaseCommand):
    """Listens until it is stopped."""

    help = (
        "Listen to the broker at HALFMIL_MQTT_URL and keep the climate of the bays: topic "
        'halfmil/SHOP/BAY/climate, payload {"air_c": 20.5, "humidity_percent": 55, '
        '"surface_c": 19.8}. Exit status 1 where no broker answers, 2 where none is set.'
    )

    def handle(self, *_args: Any, **_options: Any) -> None:
        """Connect, then keep until Ctrl-C; a broker that goes away is tried again."""
        if not settings.MQTT_URL:
            self.stderr.write("HALFMIL_MQTT_URL: not set; for example mqtt://localhost:1883")
            sys.exit(NOT_SET)
        try:
            client = subscriber(settings.MQTT_URL, self.stdout.write)
        except OSError as error:
            self.stderr.write(f"HALFMIL_MQTT_URL: no broker answers ({error})")
            sys.exit(NOT_THERE)
        try:
            client.loop_forever(retry_first_connection=True)
        except KeyboardInterrupt:
            client.disconnect()
