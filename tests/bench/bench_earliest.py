"""Earliest fit of an eight-operation chain among 1,000 future bookings.

In the core over an index that is there, and with the database: load the calendar,
index it, place the chain, check it, work out the promise. The shop is an invented
large one (thirty bays, twenty-four people), the bookings are made by the earliest
fit itself from a seed, and the database is one of its own that is dropped after.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from datetime import time as wall
from random import Random
from typing import Any

from django.db import connection

from scheduling.core.earliest import earliest_fit
from scheduling.models import Hold
from scheduling.services.chains import chain_of
from scheduling.services.horizon import Horizon, horizon_load
from scheduling.services.offers import offers_find
from shop.models import Operation, Shop
from tests import factories
from tests.bench.report import Report

BOOKINGS = 1_000
HORIZON_DAYS = 150
FILLED_DAYS = 130
"""So that correction is about three quarters full."""
QUESTIONS = 100
TARGET_MS = 50.0
NOW = datetime(2026, 3, 2, 14, 0, tzinfo=UTC)


def run(report: Report) -> None:
    """Fill the calendar, then ask."""
    name = connection.settings_dict["NAME"]
    connection.creation.create_test_db(verbosity=0, autoclobber=True)
    try:
        shop = _shop()
        rows = _fill(shop, Random(11), BOOKINGS)  # noqa: S311 -- invented bookings
        horizon = horizon_load(shop=shop, start=NOW, days=HORIZON_DAYS)
        _report(report, "earliest fit in the core", _core(horizon, rows))
        _report(report, "earliest fit with the database", _database(shop, rows, 1))
        _report(report, "three offers with the database", _database(shop, rows, 3))
    finally:
        connection.creation.destroy_test_db(name, verbosity=0)


def _report(report: Report, name: str, ask: Callable[[datetime], object]) -> None:
    rng = Random(3)  # noqa: S311 -- which day is asked about
    ask(NOW)
    seconds = []
    for _ in range(QUESTIONS):
        earliest = NOW + timedelta(minutes=5 * rng.randrange(FILLED_DAYS * 24 * 12))
        began = time.perf_counter()
        ask(earliest)
        seconds.append(time.perf_counter() - began)
    seconds.sort()
    title = f"{name}, {BOOKINGS:,} bookings"
    report.timing(title, seconds, target_ms=TARGET_MS)
    report.timing("  its 95th percentile", [seconds[int(0.95 * QUESTIONS)]])


def _core(horizon: Horizon, rows: list[Operation]) -> Callable[[datetime], object]:
    chain = chain_of(rows)
    return lambda at: earliest_fit(chain, horizon.index, not_before=horizon.minute(at))


def _database(shop: Shop, rows: list[Operation], count: int) -> Callable[[datetime], object]:
    return lambda at: offers_find(shop=shop, operations=rows, earliest=at, now=NOW, count=count)


def _shop() -> Shop:
    shop: Shop = factories.ShopFactory()
    for weekday in range(6):
        factories.OpeningHoursFactory(shop=shop, weekday=weekday, opens=wall(7), closes=wall(19))
    for kind, number in (("wash", 4), ("correction", 14), ("coating", 12)):
        for _ in range(number):
            factories.BayFactory(shop=shop, capabilities=[kind])
    skills = (["wash"], ["polish"], ["polish"], ["coat"], ["wash", "polish"], ["polish", "coat"])
    windows = (
        ((wall(7), wall(11, 30)), (wall(12), wall(16))),
        (
            (wall(10, 30), wall(14)),
            (wall(14, 30), wall(19)),
        ),
    )
    for number in range(24):
        crew = factories.CrewFactory(shop=shop, skills=skills[number % 6])
        for weekday in range(6):
            for starts, ends in windows[number // 6 % 2]:
                factories.ShiftFactory(resource=crew, weekday=weekday, starts=starts, ends=ends)
    for _ in range(8):
        factories.LampFactory(shop=shop)
    for _ in range(10):
        factories.ParkingFactory(shop=shop)
    return shop


def _fill(shop: Shop, rng: Random, bookings: int) -> list[Operation]:
    """Book by earliest fit in the core and write the holds at once; return one more chain."""
    horizon = horizon_load(shop=shop, start=NOW, days=HORIZON_DAYS)
    holds: list[Hold] = []
    for number in range(bookings):
        chain = chain_of(_chain(rng))
        not_before = rng.randrange(FILLED_DAYS * 24 * 60)
        fit = earliest_fit(chain, horizon.index, not_before=not_before)
        if not fit.found:
            raise RuntimeError(f"booking {number} found no place: {fit.reasons}")
        job = factories.JobFactory(shop=shop, vehicle=_vehicle(shop), booked=True)
        for hold in fit.holds:
            horizon.index.add(hold.resource, hold.start, hold.end)
            holds.append(
                Hold(
                    shop=shop,
                    resource=horizon.units[hold.resource],
                    job=job,
                    start=horizon.moment(hold.start),
                    end=horizon.moment(hold.end),
                )
            )
    Hold.objects.bulk_create(holds, batch_size=500)
    return _chain(rng)


_VEHICLES: dict[int, Any] = {}


def _vehicle(shop: Shop) -> Any:
    """One vehicle for all: only its holds count here."""
    if shop.pk not in _VEHICLES:
        _VEHICLES[shop.pk] = factories.VehicleFactory(shop=shop)
    return _VEHICLES[shop.pk]


def _chain(rng: Random) -> list[Operation]:
    """Wash, taping, two passes, wipe, two coats with a recoat window, cure."""
    through, pausable = "through", "pausable"
    rows = [
        ("wash", "wash", "wash", through, 60, {}),
        ("mask", "correction", "polish", pausable, 30, {}),
        ("correction", "correction", "polish", pausable, 5 * rng.randrange(30, 90), {}),
        ("correction", "correction", "polish", pausable, 5 * rng.randrange(12, 40), {}),
        ("wipe", "correction", "polish", pausable, 40, {}),
        ("coating", "coating", "coat", through, 100, {}),
        ("coating", "coating", "coat", through, 70, _recoat()),
        ("cure", "coating", "", "unattended", 720, {"same_bay": True, "lag_max_minutes": 0}),
    ]
    return [
        Operation(
            sequence=sequence,
            kind=kind,
            name=kind,
            attendance=attendance,
            bay_capability=bay,
            skill=skill,
            crew_count=1 if skill else 0,
            minutes_p10=minutes * 0.75,
            minutes_p50=minutes * 0.95,
            minutes_p90=minutes * 1.25,
            planned_minutes=minutes,
            **more,
        )
        for sequence, (kind, bay, skill, attendance, minutes, more) in enumerate(rows, start=1)
    ]


def _recoat() -> dict[str, Any]:
    return {"lamps": 1, "lag_min_minutes": 60, "lag_max_minutes": 240, "same_bay": True}
