"""Checking a gauge on shims, and keeping what it read."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime
from typing import Any, Final

from django.db import transaction
from django.utils.translation import gettext as _

from estimating.catalogue_kept import catalogue_kept
from estimating.core.calibration import shim_holds
from estimating.core.catalogue_prior import Gauge as CoreGauge
from estimating.core.inspection import MOST_READING_UM
from estimating.core.units import UNITS, to_um
from estimating.models import Gauge, GaugeCalibration
from estimating.selectors import local_day
from estimating.signals import gauge_checked
from shop.models import Member, Shop
from shop.refusals import Problem, Refused

MOST_SHIMS: Final = 50


@transaction.atomic
def gauge_calibrate(
    *,
    gauge: Gauge,
    member: Member,
    now: datetime,
    shims: Sequence[Sequence[float]],
    unit: str = "um",
) -> GaugeCalibration:
    """Keep a check of a gauge on known shims; it passes where each holds.

    Parameters
    ----------
    shims
        Pairs of true and read thickness.
    unit
        ``mil`` or ``um``, of the shims; they are kept in micrometres.

    Raises
    ------
    Refused
        The gauge is another shop's, or a shim is no pair of thicknesses.
    """
    if gauge.shop_id != member.shop_id:
        raise Refused(Problem(_("This belongs to another shop."), field="gauge"))
    if unit not in UNITS:
        message = _("%(unit)r: use one of %(units)s.") % {"unit": unit, "units": ", ".join(UNITS)}
        raise Refused(Problem(message, field="unit"))
    if not 1 <= len(shims) <= MOST_SHIMS:
        raise Refused(Problem(_("Read 1 to %s shims.") % MOST_SHIMS, field="shims"))
    pairs = [_pair(shim, f"shims[{index}]", unit) for index, shim in enumerate(shims)]
    stated = CoreGauge(gauge.repeatability_um, gauge.accuracy_um, gauge.accuracy_share)
    made = GaugeCalibration.objects.create(
        gauge=gauge,
        at=now,
        member=member,
        shims_um=pairs,
        passed=all(shim_holds(true_um, read_um, stated) for true_um, read_um in pairs),
    )
    gauge_checked.send(sender=GaugeCalibration, calibration=made, now=now)
    return made


def gauge_life_days(*, shop: Shop, now: datetime) -> int:
    """How long a check of a gauge is good for, in days: the figure that an estimate goes by.

    Raises
    ------
    Refused
        The shop has no catalogue that holds today.
    """
    return catalogue_kept(shop, local_day(shop, now)).film.stale_days


def _pair(shim: Sequence[Any], field: str, unit: str) -> tuple[float, float]:
    values = list(shim) if isinstance(shim, list | tuple) else []
    most = MOST_READING_UM / to_um(1.0, unit)
    plain = [v for v in values if isinstance(v, int | float) and not isinstance(v, bool)]
    inside = [float(v) for v in plain if math.isfinite(v) and to_um(v, unit) > 0]
    if len(values) != 2 or len(inside) != 2 or max(inside) > most:
        message = _("%(shim)r: give true and read thickness, each above 0 and at most %(most)g.")
        raise Refused(Problem(message % {"shim": shim, "most": most}, field=field))
    return to_um(inside[0], unit), to_um(inside[1], unit)
