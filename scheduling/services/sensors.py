"""A reading that a bay's sensor sent."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from django.utils.translation import gettext as _

from scheduling.models import Resource, ResourceKind
from scheduling.sensors.message import SensorReading
from scheduling.services.climate import ClimateLogged, climate_log
from shop.refusals import Problem, Refused

_AHEAD: Final = timedelta(minutes=5)
_BEHIND: Final = timedelta(days=30)


def sensor_reading_keep(*, reading: SensorReading, now: datetime) -> ClimateLogged:
    """Keep a sensor's reading of the bay it names; see :func:`climate_log`.

    Raises
    ------
    Refused
        No such shop or bay, a figure no bay can have, or a clock that is far off.
    Conflict
        There is a reading of that bay at that moment already: it was sent again.
    """
    bay = (
        Resource.objects.select_related("shop")
        .filter(shop__slug=reading.shop, code=reading.bay, kind=ResourceKind.BAY, active=True)
        .first()
    )
    if bay is None:
        message = _("%(shop)s has no bay %(bay)s; the topic names shop and bay by their codes.")
        raise Refused(Problem(message % {"shop": reading.shop, "bay": reading.bay}, "resource"))
    at = reading.at or now.replace(microsecond=0)
    if not now - _BEHIND <= at <= now + _AHEAD:
        message = _("%(at)s; the sensor's clock is off, it is %(now)s.")
        raise Refused(Problem(message % {"at": at.isoformat(), "now": now.isoformat()}, "at"))
    return climate_log(
        resource=bay,
        at=at,
        air_c=reading.air_c,
        humidity_percent=reading.humidity_percent,
        surface_c=reading.surface_c,
    )
