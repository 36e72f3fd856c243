"""The shop's gauges: when each was last checked on shims, and a check written down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, Final

from django.contrib import messages
from django.db.models import Prefetch
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from estimating.core.calibration import shim_allowed_um, shim_holds
from estimating.core.catalogue_prior import Gauge as CoreGauge
from estimating.core.units import from_um
from estimating.models import Gauge, GaugeCalibration
from estimating.services.gauges import gauge_calibrate, gauge_life_days
from shop.access import MemberRequest, member_required
from shop.models import FilmUnit
from shop.refusals import Refused
from shop.web.pages import page

_SHIMS: Final = 5  # fields on the screen; the service takes more
_SHOWN: Final = 5  # checks of a gauge that are listed


@dataclass
class ShimRow:
    """One shim as it stands in its fields."""

    true: str = ""
    read: str = ""
    errors: list[str] = field(default_factory=list)

    @property
    def used(self) -> bool:
        """Whether anything was entered."""
        return bool(self.true or self.read)


@dataclass(frozen=True)
class ShimShown:
    """One shim of a check, all in micrometres."""

    true_um: float
    read_um: float
    allowed_um: float
    holds: bool


@dataclass
class GaugeShown:
    """One gauge of the screen: its last checks, and the form for the next."""

    gauge: Gauge
    last: GaugeCalibration | None
    shims: list[ShimShown]
    earlier: list[GaugeCalibration]
    holds_until: datetime | None
    stale: bool
    unit: str
    rows: list[ShimRow]
    errors: list[str] = field(default_factory=list)


@require_safe
@member_required()
def gauges(request: MemberRequest) -> HttpResponse:
    """List the gauges with their last checks."""
    return _page(request, timezone.now())


@require_POST
@member_required()
def gauge_check(request: MemberRequest, gauge_id: int) -> HttpResponse:
    """Write down a check on shims."""
    found = get_object_or_404(Gauge.objects.of(request.member.shop), pk=gauge_id)
    now = timezone.now()
    unit = request.POST.get("unit", "")
    rows = _rows(request.POST)
    used = [row for row in rows if row.used]
    pairs = [_pair(row) for row in used]
    errors: list[str] = []
    if not any(row.errors for row in used):
        try:
            made = gauge_calibrate(
                gauge=found, member=request.member, now=now, shims=pairs, unit=unit
            )
        except Refused as refused:
            _place(refused, used, errors)
        else:
            if made.passed:
                messages.success(request, _("%s holds on these shims.") % found.name)
            else:
                messages.warning(
                    request,
                    _("%s reads outside its stated accuracy: do not measure with it.") % found.name,
                )
            return redirect(f"{reverse('gauges')}#gauge-{found.pk}")
    return _page(request, now, {found.pk: (unit, rows, errors)}, status=400)


def _rows(data: Mapping[str, str]) -> list[ShimRow]:
    return [
        ShimRow(data.get(f"true-{n}", "").strip(), data.get(f"read-{n}", "").strip())
        for n in range(_SHIMS)
    ]


def _pair(row: ShimRow) -> tuple[float, float]:
    """True and read thickness as typed; what is no number is noted at the row."""
    found = []
    for text in (row.true, row.read):
        try:
            found.append(float(text.replace(",", ".")))
        except ValueError:
            message = _("“%s” is no thickness. Write what is printed on the shim and what it read.")
            row.errors.append(message % text[:40])
            return 0.0, 0.0
    return found[0], found[1]


def _place(refused: Refused, used: list[ShimRow], errors: list[str]) -> None:
    for name, said in refused.by_field().items():
        index = name.removeprefix("shims[").removesuffix("]")
        if index.isdecimal() and int(index) < len(used):
            used[int(index)].errors.extend(said)
        else:
            errors.extend(said)


def _page(
    request: MemberRequest,
    now: datetime,
    typed: Mapping[int, tuple[str, list[ShimRow], list[str]]] | None = None,
    *,
    status: int = 200,
) -> HttpResponse:
    shop = request.member.shop
    try:
        life_days = gauge_life_days(shop=shop, now=now)
    except Refused as refused:
        return page(request, "partials/not_ready.html", {"why": str(refused)}, status=409)
    checks = GaugeCalibration.objects.select_related("member")[:_SHOWN]
    rows = (
        Gauge.objects.of(shop)
        .filter(active=True)
        .prefetch_related(Prefetch("calibrations", queryset=checks, to_attr="checks"))
    )
    shown = [_shown(row, now, life_days, shop.film_unit) for row in rows]
    for one in shown:
        if typed and one.gauge.pk in typed:
            one.unit, one.rows, one.errors = typed[one.gauge.pk]
    context = {
        "shown": shown,
        "life_days": life_days,
        "units": FilmUnit.choices,
        "now": now,
    }
    return page(request, "inspection/gauges.html", context, status=status)


def _shown(gauge: Any, now: datetime, life_days: int, unit: str) -> GaugeShown:
    checks = gauge.checks
    last = checks[0] if checks else None
    until = last.at + timedelta(days=life_days) if last and last.passed else None
    stated = CoreGauge(gauge.repeatability_um, gauge.accuracy_um, gauge.accuracy_share)
    shims = [
        ShimShown(true, read, shim_allowed_um(true, stated), shim_holds(true, read, stated))
        for true, read in (last.shims_um if last else [])
    ]
    # The shims of the last check are most likely those of the next.
    rows = [ShimRow(true=f"{round(from_um(shim.true_um, unit), 2):g}") for shim in shims[:_SHIMS]]
    rows += [ShimRow() for _n in range(_SHIMS - len(rows))]
    stale = until is not None and until < now
    return GaugeShown(gauge, last, shims, checks[1:], until, stale, unit, rows)
