"""Load a shop's calendar into the core: what there is, when it works, what is taken.

Five queries, however many holds there are. Times become whole minutes from an
origin, which is a midnight of the shop's zone; the wall clock and both changes to
and from daylight-saving time are dealt with by :mod:`scheduling.core.worktime`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import lru_cache
from math import ceil
from typing import Any, Final
from zoneinfo import ZoneInfo

from django.db.models import F, Field, Func, Value
from django.utils.translation import gettext as _

from scheduling.core import worktime
from scheduling.core.freeindex import FreeIndex, Lamp, Resources, Technician
from scheduling.core.problem import Spot
from scheduling.core.values import ProblemError, Window
from scheduling.models import Absence, CalendarPolicy, Hold, Resource, ResourceKind, Shift
from scheduling.services.holder import Holder, of_others
from scheduling.services.lapse import lapsed, slots_let_go
from shop.closed_days import closed_days
from shop.models import OpeningHours, Shop
from shop.refusals import Refused

GRID_MINUTES: Final = 5
ANY_BAY: Final = "any"
"""Capability of every bay: work that may be done wherever the vehicle can stand."""

Pattern = tuple[worktime.Shift, ...]
"""Weekly windows of one person, or of the shop's door."""


class EpochSeconds(Func):
    """A moment as seconds since 1970, to the millisecond, worked out by the database.

    Thousands of holds are read for one question; making datetimes of them to take
    minutes from would be most of the answer's time.
    """

    # A bare field: the number is taken as the driver gives it, without a conversion by row.
    output_field = Field()
    template = "EXTRACT(EPOCH FROM %(expressions)s)::float8"

    def as_sqlite(self, compiler: Any, connection: Any, **extra: Any) -> Any:
        """Julian day 2440587.5 is the beginning of 1970."""
        template = "ROUND((julianday(%(expressions)s) - 2440587.5) * 86400.0, 3)"
        return self.as_sql(compiler, connection, template=template, **extra)


@dataclass(frozen=True)
class Extra:
    """Stretches outside a person's shifts and absences, and the extra pay for an hour."""

    windows: tuple[Window, ...]
    per_hour: Decimal


@dataclass(frozen=True)
class Horizon:
    """A bounded stretch of one shop's calendar, as the core wants it."""

    shop: Shop
    origin: datetime
    resources: Resources
    index: FreeIndex
    busy: Mapping[str, Sequence[Window]]
    """What was read into the index; empty in a calendar that is ``kept``."""
    units: Mapping[str, Resource]
    away: Mapping[str, Sequence[Window]] = field(default_factory=dict)
    """When lamps are not there; of people and places the resources know it."""
    overtime: Mapping[str, tuple[Extra, ...]] = field(default_factory=dict)
    """Hours beyond their shifts that people would work for extra pay, by person."""
    kept: bool = False

    def minute(self, at: datetime) -> int:
        """Minutes from the origin to a moment, rounded up: never earlier than was asked."""
        return -((self.origin - at) // worktime.MINUTE)

    def moment(self, minute: int) -> datetime:
        """The moment so many minutes after the origin, in UTC."""
        return worktime.instant_at(minute, self.origin)


@contextmanager
def calendar_refusals() -> Iterator[None]:
    """Answer a calendar that the core does not take with a refusal, not with a fault.

    Raises
    ------
    Refused
        With what the core said.
    """
    try:
        yield
    except ProblemError as error:
        raise Refused(_("The calendar cannot be read: %s") % error) from error


def policy_of(shop: Shop) -> CalendarPolicy:
    """Return the figures the shop's calendar goes by; the defaults where it set none."""
    return CalendarPolicy.objects.filter(shop=shop).first() or CalendarPolicy(shop=shop)


def horizon_load(
    *,
    shop: Shop,
    start: datetime,
    days: int,
    now: datetime | None = None,
    ignoring: Holder | None = None,
) -> Horizon:
    """Load ``days`` days of the shop's calendar, from the local midnight before ``start``.

    Parameters
    ----------
    now
        What was kept for callers until then is let go before it is read.
    ignoring
        Whose own holds count as free: a job about to be moved, a kept slot about to be booked.
    """
    first_day = start.astimezone(shop.tz).date()
    last_day = first_day + timedelta(days=days - 1)
    origin = worktime.instant_of(first_day, time(), shop.tz)
    end = worktime.instant_of(last_day + timedelta(days=1), time(), shop.tz)
    horizon = worktime.minute_of(end, origin)
    rows = Resource.objects.of(shop).filter(active=True).order_by("position", "pk")
    units = list(rows if now is None else rows.annotate(lapsed=lapsed(now, shop)))
    if now is not None and any(getattr(unit, "lapsed", False) for unit in units[:1]):
        slots_let_go(now=now, shop=shop)
    closed = tuple(closed_days(shop, first_day, last_day))
    plain, priced = _shifts(shop)
    busy, absent = _taken(shop, origin, horizon, ignoring)
    frame = _Frame(
        origin=origin,
        horizon=horizon,
        zone=shop.zone,
        first_day=first_day,
        last_day=last_day,
        closed=closed,
        shifts=_patterns(plain),
        away=absent,
    )
    away = {
        key_of(unit): frame.away[unit.pk]
        for unit in units
        if unit.kind == ResourceKind.LAMP and unit.pk in frame.away
    }
    for key, windows in away.items():
        busy.setdefault(key, []).extend(windows)
    opening = OpeningHours.objects.of(shop).values_list("weekday", "opens", "closes")
    resources = Resources(
        grid=GRID_MINUTES,
        horizon=horizon,
        spots=tuple(_spot(unit, frame) for unit in units if unit.kind in _PLACES),
        crew=tuple(
            _technician(unit, frame) for unit in units if unit.kind == ResourceKind.TECHNICIAN
        ),
        lamps=tuple(Lamp(key_of(unit)) for unit in units if unit.kind == ResourceKind.LAMP),
        opening=frame.windows(tuple(worktime.Shift(*window) for window in opening)),
    )
    known = {key: windows for key, windows in busy.items() if key in resources.by_id}
    return Horizon(
        shop=shop,
        origin=origin,
        resources=resources,
        index=FreeIndex(resources, known),
        busy=known,
        units={key_of(unit): unit for unit in units},
        away=away,
        overtime=_overtime(priced, resources.crew, frame, shop.labour_rate),
    )


def key_of(unit: Resource) -> str:
    """Identifier of a resource in the core."""
    return f"r{unit.pk}"


_PLACES: Final = (ResourceKind.BAY, ResourceKind.PARKING)


@dataclass(frozen=True)
class _Frame:
    """What turns the shop's clock into minutes; shifts and absences by resource."""

    origin: datetime
    horizon: int
    zone: str
    first_day: date
    last_day: date
    closed: tuple[date, ...]
    shifts: Mapping[int, Pattern]
    away: Mapping[int, list[Window]]

    def windows(self, pattern: Pattern) -> tuple[Window, ...]:
        return _pattern_windows(pattern, self.zone, self.first_day, self.last_day, self.closed)


@lru_cache(maxsize=256)
def _pattern_windows(
    pattern: Pattern, zone: str, first_day: date, last_day: date, closed: tuple[date, ...]
) -> tuple[Window, ...]:
    """Windows of weekly shifts; kept, since people share shifts and questions share weeks."""
    tz = ZoneInfo(zone)
    origin = worktime.instant_of(first_day, time(), tz)
    spans = worktime.shift_spans(pattern, tz, first_day, last_day, closed_days=closed)
    return worktime.minute_windows(spans, origin)


def _shifts(shop: Shop) -> tuple[list[Shift], list[Shift]]:
    """Shifts in one query: those that are worked anyway, and those at a price."""
    rows = list(Shift.objects.filter(resource__shop=shop).order_by("weekday", "starts", "pk"))
    return [row for row in rows if not row.is_overtime], [row for row in rows if row.is_overtime]


def _patterns(rows: Iterable[Shift]) -> dict[int, Pattern]:
    found: dict[int, list[worktime.Shift]] = {}
    for row in rows:
        found.setdefault(row.resource_id, []).append(row.as_core())
    return {unit: tuple(shifts) for unit, shifts in found.items()}


def _overtime(
    priced: Iterable[Shift], people: Iterable[Technician], frame: _Frame, labour_rate: Decimal
) -> dict[str, tuple[Extra, ...]]:
    """Overtime by person; on closed days as well, since somebody agreed to come in."""
    shifts = {one.id: one.windows for one in people}
    found: dict[str, tuple[Extra, ...]] = {}
    for row in priced:
        key = f"r{row.resource_id}"
        if key not in shifts:
            continue
        paid = [window for extra in found.get(key, ()) for window in extra.windows]
        away = frame.away.get(row.resource_id, [])
        windows = worktime.cut(
            _pattern_windows((row.as_core(),), frame.zone, frame.first_day, frame.last_day, ()),
            worktime.join([*shifts[key], *paid, *away]),
        )
        if windows:
            extra = Extra(tuple(windows), row.extra_per_hour(labour_rate))
            found[key] = (*found.get(key, ()), extra)
    return found


def _taken(
    shop: Shop, origin: datetime, horizon: int, ignoring: Holder | None
) -> tuple[dict[str, list[Window]], dict[int, list[Window]]]:
    """Holds, and absences in order and joined, by resource in one query."""
    end = worktime.instant_at(horizon, origin)
    span = (EpochSeconds(F("start")), EpochSeconds(F("end")))
    holds = Hold.objects.of(shop).filter(start__lt=end, end__gt=origin).order_by()
    holds = of_others(holds, ignoring)
    absences = Absence.objects.filter(resource__shop=shop, start__lt=end, end__gt=origin)
    rows = holds.values_list("resource_id", *span, Value(0)).union(
        absences.order_by().values_list("resource_id", *span, Value(1)), all=True
    )
    zero = origin.timestamp()
    busy: dict[str, list[Window]] = {}
    away: dict[int, list[Window]] = {}
    for unit, starts, ends, absent in rows:
        low, high = max(0, int((starts - zero) // 60)), min(horizon, ceil((ends - zero) / 60))
        if low < high and absent:
            away.setdefault(unit, []).append((low, high))
        elif low < high:
            busy.setdefault(f"r{unit}", []).append((low, high))
    return busy, {unit: worktime.join(windows) for unit, windows in away.items()}


def holds_between(
    shop: Shop, origin: datetime, low: int, high: int, ignoring: Holder | None = None
) -> dict[str, list[Window]]:
    """Return holds by resource in minutes, widened to whole ones and cut to ``[low, high)``."""
    begin, end = worktime.instant_at(low, origin), worktime.instant_at(high, origin)
    rows = Hold.objects.of(shop).filter(start__lt=end, end__gt=begin).order_by()
    rows = of_others(rows, ignoring)
    zero = origin.timestamp()
    busy: dict[str, list[Window]] = {}
    for unit, starts, ends in rows.values_list(
        "resource_id", EpochSeconds(F("start")), EpochSeconds(F("end"))
    ):
        first = max(low, int((starts - zero) // 60))
        last = min(high, ceil((ends - zero) / 60))
        if first < last:
            busy.setdefault(f"r{unit}", []).append((first, last))
    return busy


def _spot(unit: Resource, frame: _Frame) -> Spot:
    bay = unit.kind == ResourceKind.BAY
    return Spot(
        id=key_of(unit),
        caps=frozenset([*unit.capabilities, ANY_BAY] if bay else unit.capabilities),
        closures=tuple(frame.away.get(unit.pk, ())),
        park=not bay,
    )


def _technician(unit: Resource, frame: _Frame) -> Technician:
    windows = frame.windows(frame.shifts.get(unit.pk, ()))
    away = frame.away.get(unit.pk)
    return Technician(
        id=key_of(unit),
        windows=tuple(worktime.cut(windows, away)) if away else windows,
        skills=frozenset(unit.skills),
    )
