"""Load a shop's calendar into the core: what there is, when it works, what is taken.

Six queries, however many holds there are. Times become whole minutes from an
origin, which is a midnight of the shop's zone; the wall clock and both changes to
and from daylight-saving time are dealt with by :mod:`scheduling.core.worktime`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from typing import Final
from zoneinfo import ZoneInfo

from django.db.models import prefetch_related_objects

from scheduling.core import worktime
from scheduling.core.freeindex import FreeIndex, Lamp, Resources, Technician
from scheduling.core.problem import Spot, Window
from scheduling.models import CalendarPolicy, Hold, Resource, ResourceKind
from shop.models import Closure, Job, OpeningHours, Shop

GRID_MINUTES: Final = 5
ANY_BAY: Final = "any"
"""Capability of every bay: work that may be done wherever the vehicle can stand."""

Pattern = tuple[worktime.Shift, ...]


@dataclass(frozen=True)
class Horizon:
    """A bounded stretch of one shop's calendar, as the core wants it."""

    shop: Shop
    origin: datetime
    resources: Resources
    index: FreeIndex
    busy: Mapping[str, Sequence[Window]]
    units: Mapping[str, Resource]

    def minute(self, at: datetime) -> int:
        """Minutes from the origin to a moment, rounded up: never earlier than was asked."""
        return -((self.origin - at) // worktime.MINUTE)

    def moment(self, minute: int) -> datetime:
        """The moment so many minutes after the origin, in UTC."""
        return worktime.instant_at(minute, self.origin)


def policy_of(shop: Shop) -> CalendarPolicy:
    """Return the figures the shop's calendar goes by; the defaults where it set none."""
    return CalendarPolicy.objects.filter(shop=shop).first() or CalendarPolicy(shop=shop)


def horizon_load(*, shop: Shop, start: datetime, days: int, ignoring: Job | None = None) -> Horizon:
    """Load ``days`` days of the shop's calendar, from the local midnight before ``start``.

    Parameters
    ----------
    ignoring
        A job whose own holds count as free, because it is about to be moved.
    """
    first_day = start.astimezone(shop.tz).date()
    last_day = first_day + timedelta(days=days - 1)
    origin = worktime.instant_of(first_day, time(), shop.tz)
    end = worktime.instant_of(last_day + timedelta(days=1), time(), shop.tz)
    horizon = worktime.minute_of(end, origin)
    units = list(Resource.objects.of(shop).filter(active=True).order_by("position", "pk"))
    prefetch_related_objects(units, "shifts", "absences")
    closed = _closed_days(shop, first_day, last_day)
    frame = _Frame(origin, horizon, shop.zone, first_day, last_day, closed)
    holds = _holds(shop, origin, end, ignoring)
    busy = _in_minutes(holds, frame)
    for unit in units:
        if unit.kind == ResourceKind.LAMP and (away := frame.absences(unit)):
            busy.setdefault(key_of(unit), []).extend(away)
    opening = OpeningHours.objects.of(shop)
    resources = Resources(
        grid=GRID_MINUTES,
        horizon=horizon,
        spots=tuple(_spot(unit, frame) for unit in units if unit.kind in _PLACES),
        crew=tuple(
            _technician(unit, frame) for unit in units if unit.kind == ResourceKind.TECHNICIAN
        ),
        lamps=tuple(Lamp(key_of(unit)) for unit in units if unit.kind == ResourceKind.LAMP),
        opening=frame.windows(
            tuple(worktime.Shift(row.weekday, row.opens, row.closes) for row in opening)
        ),
    )
    known = {key: windows for key, windows in busy.items() if key in resources.by_id}
    return Horizon(
        shop=shop,
        origin=origin,
        resources=resources,
        index=FreeIndex(resources, known),
        busy=known,
        units={key_of(unit): unit for unit in units},
    )


def key_of(unit: Resource) -> str:
    """Identifier of a resource in the core."""
    return f"r{unit.pk}"


_PLACES: Final = (ResourceKind.BAY, ResourceKind.PARKING)


@dataclass(frozen=True)
class _Frame:
    """What turns the shop's clock into minutes."""

    origin: datetime
    horizon: int
    zone: str
    first_day: date
    last_day: date
    closed: tuple[date, ...]

    def windows(self, pattern: Pattern) -> tuple[Window, ...]:
        return _pattern_windows(pattern, self.zone, self.first_day, self.last_day, self.closed)

    def absences(self, unit: Resource) -> list[Window]:
        """Stretches in which a resource is not there, in order and joined."""
        return worktime.join(
            window
            for row in unit.absences.all()
            if (window := self.clip(row.start, row.end)) is not None
        )

    def clip(self, start: datetime, end: datetime) -> Window | None:
        """A stretch in minutes, widened to whole ones and cut to the horizon."""
        low = max(0, worktime.minute_of(start, self.origin))
        high = min(self.horizon, -((self.origin - end) // worktime.MINUTE))
        return (low, high) if low < high else None


@lru_cache(maxsize=256)
def _pattern_windows(
    pattern: Pattern, zone: str, first_day: date, last_day: date, closed: tuple[date, ...]
) -> tuple[Window, ...]:
    """Windows of weekly shifts; kept, since people share shifts and questions share weeks."""
    tz = ZoneInfo(zone)
    origin = worktime.instant_of(first_day, time(), tz)
    spans = worktime.shift_spans(pattern, tz, first_day, last_day, closed_days=closed)
    return worktime.minute_windows(spans, origin)


def _closed_days(shop: Shop, first_day: date, last_day: date) -> tuple[date, ...]:
    days: set[date] = set()
    rows = Closure.objects.of(shop).filter(first_day__lte=last_day, last_day__gte=first_day)
    for row in rows:
        day = max(row.first_day, first_day)
        while day <= min(row.last_day, last_day):
            days.add(day)
            day += timedelta(days=1)
    return tuple(sorted(days))


def _holds(
    shop: Shop, start: datetime, end: datetime, ignoring: Job | None
) -> Iterable[tuple[int, datetime, datetime]]:
    rows = Hold.objects.of(shop).filter(start__lt=end, end__gt=start)
    if ignoring is not None:
        rows = rows.exclude(job=ignoring)
    return rows.order_by().values_list("resource_id", "start", "end")


def _in_minutes(
    holds: Iterable[tuple[int, datetime, datetime]], frame: _Frame
) -> dict[str, list[Window]]:
    busy: dict[str, list[Window]] = {}
    for resource_id, start, end in holds:
        window = frame.clip(start, end)
        if window is not None:
            busy.setdefault(f"r{resource_id}", []).append(window)
    return busy


def _spot(unit: Resource, frame: _Frame) -> Spot:
    bay = unit.kind == ResourceKind.BAY
    return Spot(
        id=key_of(unit),
        caps=frozenset([*unit.capabilities, ANY_BAY] if bay else unit.capabilities),
        closures=tuple(frame.absences(unit)),
        park=not bay,
    )


def _technician(unit: Resource, frame: _Frame) -> Technician:
    pattern = tuple(worktime.Shift(row.weekday, row.starts, row.ends) for row in unit.shifts.all())
    windows = frame.windows(pattern)
    away = frame.absences(unit)
    return Technician(
        id=key_of(unit),
        windows=tuple(worktime.cut(windows, away)) if away else windows,
        skills=frozenset(unit.skills),
    )
