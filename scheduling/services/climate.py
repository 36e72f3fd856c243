"""Air and surface of a bay: log a reading, judge it, let the cures in that bay follow."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from scheduling.core.climate import ClimateLimits, ClimateVerdict, judge_climate
from scheduling.models import ClimateReading, Cure, Hold, Resource, ResourceKind
from scheduling.services.climate_alarms import climate_alarm_set
from scheduling.services.cures import cure_refresh
from scheduling.services.product_limits import COATING_OF_HOLD, ProductLimits, limits_quoted
from scheduling.services.recoat import recoat_windows_follow
from scheduling.services.when import moment_text
from shop.models import Job, JobState
from shop.refusals import Conflict, Problem, Refused

_LOOK_BACK: Final = timedelta(days=30)
_NEXT_HOURS: Final = timedelta(hours=12)
_RECENT: Final = timedelta(hours=1)


@dataclass(frozen=True)
class ClimateLogged:
    """A reading that was kept, and what it means for coating; ``warnings`` may be empty."""

    reading: ClimateReading
    verdict: ClimateVerdict
    warnings: tuple[str, ...]


def climate_log(
    *,
    resource: Resource,
    at: datetime,
    air_c: float,
    humidity_percent: float,
    surface_c: float | None = None,
) -> ClimateLogged:
    """Keep one reading of a bay, warn where coating would be wrong, move the cures in it.

    It is judged by the limits of the coating quoted for the vehicle there, or the next one;
    without one by the 3 °C rule and 85 %.

    Parameters
    ----------
    air_c, surface_c
        Temperatures of the air and of the panel, °C.
    humidity_percent
        Relative humidity, above 0 and up to 100.

    Raises
    ------
    Refused
        A figure no bay can have, with its field; the resource is no bay.
    Conflict
        There is a reading of that bay at that moment already.
    """
    problems = _problems(resource, at, air_c, humidity_percent, surface_c)
    if problems:
        raise Refused(*problems)
    reading = ClimateReading(
        shop_id=resource.shop_id,
        resource=resource,
        at=at,
        air_c=air_c,
        humidity_percent=humidity_percent,
        surface_c=surface_c,
    )
    with transaction.atomic():
        try:
            with transaction.atomic():
                reading.save()
        except IntegrityError as error:
            # Race: a sensor and a person write the same minute. The constraint keeps one.
            raise Conflict(
                _("%(bay)s has a reading of %(when)s already.")
                % {"bay": resource.name, "when": moment_text(at, resource.shop)}
            ) from error
        _cures_follow(resource, at)
        recoat_windows_follow(bay=resource, now=at)
        product = _product_there(resource, at)
        verdict = reading_verdict(reading, product.limits if product else None)
        climate_alarm_set(reading=reading, reasons=verdict.reasons)
    warnings = [f"{product.name}: {said}" if product else said for said in verdict.reasons]
    if surface_c is None:
        warnings.append(_("No surface was measured; the panel is taken to be as warm as the air."))
    return ClimateLogged(reading, verdict, tuple(warnings))


def reading_verdict(reading: ClimateReading, limits: ClimateLimits | None = None) -> ClimateVerdict:
    """Judge a reading: dew point, the 3 °C rule, and a product's own limits where given."""
    surface_c = reading.air_c if reading.surface_c is None else reading.surface_c
    return judge_climate(reading.air_c, reading.humidity_percent, surface_c, limits)


def climate_reasons_for(*, job: Job, now: datetime) -> tuple[str, ...]:
    """Why the bay's climate is wrong for the job's coating now; empty where it is right.

    Empty too where nothing was logged in the last hour: nobody knows.
    """
    hold = (
        Hold.objects.filter(job=job, resource__kind=ResourceKind.BAY, start__lte=now, end__gt=now)
        .annotate(**COATING_OF_HOLD)
        .order_by("start")
        .first()
    )
    if hold is None:
        return ()
    reading = (
        ClimateReading.objects.filter(resource=hold.resource_id, at__lte=now, at__gt=now - _RECENT)
        .order_by("-at")
        .first()
    )
    if reading is None:
        return ()
    product = limits_quoted(hold)
    return reading_verdict(reading, product.limits if product else None).reasons


def _product_there(resource: Resource, at: datetime) -> ProductLimits | None:
    """Limits of the coating for the vehicle in the bay, or for the next one of these hours."""
    hold = (
        Hold.objects.filter(resource=resource, end__gt=at, start__lt=at + _NEXT_HOURS)
        .annotate(**COATING_OF_HOLD)
        .order_by("start")
        .first()
    )
    return None if hold is None else limits_quoted(hold)


def _cures_follow(resource: Resource, at: datetime) -> None:
    """A cold night moves the end of the cures that were in the bay, and their messages."""
    cures = (
        Cure.objects.select_related("job__shop", "job__customer")
        .filter(
            job__state=JobState.CURING,
            job__holds__resource=resource,
            started_at__gt=at - _LOOK_BACK,
        )
        .distinct()
    )
    for cure in cures:
        cure_refresh(cure=cure, now=at)


def _problems(
    resource: Resource,
    at: datetime,
    air_c: float,
    humidity_percent: float,
    surface_c: float | None,
) -> list[Problem]:
    problems = []
    if resource.kind != ResourceKind.BAY:
        problems.append(
            Problem(_("%s is no bay; climate is logged for bays.") % resource.name, "resource")
        )
    if at.tzinfo is None:
        problems.append(Problem(_("The time needs a zone."), "at"))
    # A comparison with NaN is false, so "not inside" refuses it too.
    if not -40 <= air_c <= 60:
        problems.append(Problem(_("%s °C; air in a bay has −40 to 60 °C.") % air_c, "air_c"))
    if not 0 < humidity_percent <= 100:
        problems.append(
            Problem(
                _("%s %%; relative humidity is above 0 and up to 100 %%.") % humidity_percent,
                "humidity_percent",
            )
        )
    if surface_c is not None and not -40 <= surface_c <= 150:
        problems.append(Problem(_("%s °C; a panel has −40 to 150 °C.") % surface_c, "surface_c"))
    return problems
