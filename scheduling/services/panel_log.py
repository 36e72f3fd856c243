"""How warm a vehicle's panel was, minute by minute, from what was logged in its bay."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Final, NamedTuple

from scheduling.core.climate import Reading
from scheduling.models import ClimateReading, Hold, ResourceKind

_MINUTE: Final = timedelta(minutes=1)
_FRESH: Final = timedelta(hours=6)
"""A reading this old still tells the temperature at the start (common practice, no source)."""


class Warm(NamedTuple):
    """A stretch under a lamp, in minutes from the start of the log, and the panel's temperature."""

    start: float
    end: float
    panel_c: float


def panel_log(
    job_id: int, since: datetime, now: datetime, assumed_c: float, runs: Sequence[Warm] = ()
) -> list[Reading]:
    """Return the panel's temperature from ``since`` to ``now``, minute 0 being ``since``.

    Two queries. The film is as warm as the panel; the air stands in where no panel was measured.

    Parameters
    ----------
    assumed_c
        What holds before the first reading and after the last.
    runs
        Stretches under a lamp, in order.
    """
    bay = (
        Hold.objects.filter(job_id=job_id, resource__kind=ResourceKind.BAY, start__lte=since)
        .order_by("-start")
        .values_list("resource_id", flat=True)
        .first()
    )
    rows = (
        ClimateReading.objects.filter(resource_id=bay, at__gt=since - _FRESH, at__lte=now)
        .order_by("at")
        .values_list("at", "air_c", "surface_c")
        if bay is not None
        else ()
    )
    points = [
        ((at - since) / _MINUTE, air_c if surface_c is None else surface_c)
        for at, air_c, surface_c in rows
    ]
    panels = [
        ((at - since) / _MINUTE, surface_c)
        for at, _air_c, surface_c in rows
        if surface_c is not None
    ]
    before = [temperature for minute, temperature in points if minute <= 0]
    start_c = before[-1] if before else assumed_c
    return _timeline(points, panels, runs, start_c, assumed_c, (now - since) / _MINUTE)


def _timeline(
    points: Sequence[tuple[float, float]],
    panels: Sequence[tuple[float, float]],
    runs: Sequence[Warm],
    start_c: float,
    assumed_c: float,
    present: float,
) -> list[Reading]:
    """The panel's temperature: as logged, and under a lamp as measured or assumed there.

    Under a lamp only readings of the panel count: the air beside it says nothing about it.
    """
    log = [Reading(0.0, start_c)]
    at = 0.0
    for run in runs:
        log += [Reading(minute, c) for minute, c in points if at < minute < run.start]
        plain_c, hot_c = log[-1].temperature_c, run.panel_c
        log += [Reading(run.start, plain_c), Reading(run.start, hot_c)]
        for minute, c in panels:
            if run.start <= minute < run.end:
                hot_c = c
                log.append(Reading(minute, c))
        log += [Reading(run.end, hot_c), Reading(run.end, plain_c)]
        at = run.end
    log += [Reading(minute, c) for minute, c in points if minute > at]
    # A step to what is assumed, and with it to the present: time has gone on since.
    if present > log[-1].minute:
        log += [Reading(log[-1].minute, assumed_c), Reading(present, assumed_c)]
    return log
