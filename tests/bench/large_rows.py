"""The large shop of ``large_shop.py`` as rows of a database."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from datetime import time as wall
from itertools import islice

from django.db import connection

from scheduling.calendar_watch import watch_calendars
from scheduling.core.fit import Chain
from scheduling.guards import lay_guards
from scheduling.models import Hold, Resource
from shop.models import Attendance, Operation, Shop
from tests import factories
from tests.bench import large_shop

BATCH = 20_000


def shop_made(now: datetime) -> Shop:
    """Make the shop; its calendar begins on the day of ``now``, a Monday in its zone."""
    shop: Shop = factories.ShopFactory(zone="UTC")
    parts = large_shop.resources(1)
    for weekday in range(6):
        factories.OpeningHoursFactory(shop=shop, weekday=weekday, opens=wall(7), closes=wall(19))
    for spot in parts.spots:
        if spot.park:
            factories.ParkingFactory(shop=shop, name=spot.id)
        else:
            factories.BayFactory(shop=shop, name=spot.id, capabilities=sorted(spot.caps - {"any"}))
    for one in parts.crew:
        crew = factories.CrewFactory(shop=shop, name=one.id, skills=sorted(one.skills))
        for start, end in one.windows:
            day, begins = divmod(start, large_shop.DAY)
            factories.ShiftFactory(
                resource=crew, weekday=day, starts=_wall(begins), ends=_wall(begins + end - start)
            )
    for lamp in parts.lamps:
        factories.LampFactory(shop=shop, name=lamp.id)
    return shop


def _wall(minutes: int) -> wall:
    return wall(minutes // 60, minutes % 60)


def fill(shop: Shop, taken: Iterable[large_shop.Taken], now: datetime) -> None:
    """Write holds without the triggers that guard single rows: the fit has made them fit."""
    midnight = now.replace(hour=0, minute=0)
    named = dict(Resource.objects.of(shop).values_list("name", "pk"))
    job = factories.JobFactory(shop=shop, vehicle=factories.VehicleFactory(shop=shop), booked=True)
    table = connection.ops.quote_name(Hold._meta.db_table)
    _without_triggers(table)
    rows = (
        Hold(
            shop_id=shop.pk,
            resource_id=named[unit],
            job_id=job.pk,
            start=midnight + timedelta(minutes=start),
            end=midnight + timedelta(minutes=end),
        )
        for unit, start, end in taken
    )
    for some in _batches(rows):
        Hold.objects.bulk_create(some, batch_size=2_000)
    watch_calendars("default")
    lay_guards("default")
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def _without_triggers(table: str) -> None:
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
            for (name,) in cursor.fetchall():
                if name.startswith(("hold_", "scheduling_hold_")):
                    cursor.execute(f"DROP TRIGGER {connection.ops.quote_name(name)}")
        else:
            cursor.execute(f"ALTER TABLE {table} DROP CONSTRAINT hold_never_overlaps")


def _batches(rows: Iterable[Hold]) -> Iterator[list[Hold]]:
    held = iter(rows)
    while some := list(islice(held, BATCH)):
        yield some


def operations_of(chain: Chain) -> list[Operation]:
    """Return a chain as the rows of a job."""
    return [
        Operation(
            sequence=sequence,
            kind="correction",
            name=op.name or op.id,
            attendance=_attendance(op.attended, op.pausable),
            bay_capability=op.spot_cap,
            skill=op.skill or "",
            crew_count=op.crew,
            minutes_p10=op.modes[0].dur * 0.75,
            minutes_p50=op.modes[0].dur * 0.95,
            minutes_p90=op.modes[0].dur * 1.25,
            planned_minutes=op.modes[0].dur,
            lamps=op.modes[0].lamps,
            lag_min_minutes=op.lag_min,
            lag_max_minutes=op.lag_max,
            same_bay=op.same_spot,
        )
        for sequence, op in enumerate(chain.ops, start=1)
    ]


def _attendance(attended: bool, pausable: bool) -> Attendance:
    if not attended:
        return Attendance.UNATTENDED
    return Attendance.PAUSABLE if pausable else Attendance.THROUGH
