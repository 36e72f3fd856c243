"""One message of a bay's sensor, read and checked.

Topic ``halfmil/SHOP/BAY/climate`` with the shop's short name and the bay's code; payload a
JSON object with ``air_c``, ``humidity_percent`` and, where they are known, ``surface_c`` and
``at`` (ISO 8601 with a zone; without it the moment of arrival counts).
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

ROOT: Final = "halfmil"
TOPICS: Final = f"{ROOT}/+/+/climate"
MOST_BYTES: Final = 2_000
_KEYS: Final = ("air_c", "humidity_percent", "surface_c", "at")


@dataclass(frozen=True)
class SensorReading:
    """What a sensor said; ``at`` is None where it has no clock."""

    shop: str
    bay: str
    air_c: float
    humidity_percent: float
    surface_c: float | None
    at: datetime | None


class SensorError(ValueError):
    """A message that is no reading: names the field, the value and what would be right."""


def sensor_read(topic: str, payload: bytes) -> SensorReading:
    """Return the reading in a message.

    Raises
    ------
    SensorError
        The topic or the payload is not as described above.
    """
    parts = topic.split("/")
    if len(parts) != 4 or parts[0] != ROOT or parts[3] != "climate":
        raise SensorError(f"topic {topic!r}: use {ROOT}/SHOP/BAY/climate")
    given = _object(payload)
    return SensorReading(
        shop=parts[1],
        bay=parts[2],
        air_c=_number(given, "air_c"),
        humidity_percent=_number(given, "humidity_percent"),
        surface_c=_number(given, "surface_c") if given.get("surface_c") is not None else None,
        at=_moment(given.get("at")),
    )


def _object(payload: bytes) -> dict[str, Any]:
    if len(payload) > MOST_BYTES:
        raise SensorError(f"payload of {len(payload)} bytes: at most {MOST_BYTES}")
    try:
        given = json.loads(payload)
    except (ValueError, RecursionError) as error:
        raise SensorError(f"payload is no JSON ({error})") from error
    if not isinstance(given, dict):
        raise SensorError(f"payload is {type(given).__name__}: give an object")
    for key in given:
        if key not in _KEYS:
            raise SensorError(f"{key!r} is not known: use {', '.join(_KEYS)}")
    return given


def _number(given: dict[str, Any], key: str) -> float:
    value = given.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise SensorError(f"{key}: {value!r}: give a number")
    return float(value)


def _moment(value: object) -> datetime | None:
    if value is None:
        return None
    try:
        at = datetime.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        at = None
    if at is None or at.tzinfo is None:
        raise SensorError(f"at: {value!r}: give a moment with its zone, 2026-03-02T14:05:00+00:00")
    return at
