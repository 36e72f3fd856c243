"""The bay calendar with 500 bookings on screen: time of the server, bytes, drawn elements."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext, override_settings
from django.urls import reverse

from scheduling.models import Hold, Resource
from shop.models import Customer, Job, Operation, Shop, Vehicle
from tests import factories as make
from tests.bench.report import Report
from tests.scheduling.shops import Small, small_shop

BOOKINGS = 500
REPEATS = 20
MOST_MS, MOST_KB, MOST_ELEMENTS, MOST_QUERIES = 500, 1500, 12_000, 12
FIRST = date(2026, 3, 2)
WORK = (("wash", 0, 20), ("mask", 20, 30), ("correction", 30, 80), ("coating", 80, 100))
"""Kind, first and last minute of a visit; all in one bay, one after the other."""
VIEWS = ("week", "fortnight")


def run(report: Report) -> None:
    """Measure both views with all bookings inside their days."""
    with _database():
        small = small_shop()
        client = Client()
        client.force_login(small.owner.user)
        for view, days in zip(VIEWS, (7, 14), strict=True):
            Job.objects.of(small.shop).delete()
            _book(small, days, BOOKINGS // 10)
            few = _queries(client, view)
            Job.objects.of(small.shop).delete()
            _book(small, days, BOOKINGS)
            _view(report, client, view, few)


def _view(report: Report, client: Client, view: str, few: int) -> None:
    many = _queries(client, view)
    seconds, busy, text = [], [], ""
    for _ in range(REPEATS):
        started, began = time.perf_counter(), time.process_time()
        text = client.get(*_question(view)).content.decode()
        seconds.append(time.perf_counter() - started)
        busy.append(time.process_time() - began)
    picture = text[text.index('class="cal-picture') : text.index('class="cal-shares')]
    assert picture.count('<a class="ribbon') == BOOKINGS
    name = f"{view}, {BOOKINGS} bookings"
    p95 = sorted(seconds)[int(0.95 * len(seconds)) - 1] * 1000
    report.figure(f"{name}: p95", p95, "ms", f"of {REPEATS} pages", target=MOST_MS)
    # What a busy machine does not change much.
    report.timing(f"{name}: processor", busy)
    report.figure(f"{name}: page", len(text.encode()) / 1000, "kB", "HTML", target=MOST_KB)
    elements = len(re.findall(r"<[a-z]", picture))
    report.figure(f"{name}: drawn", elements, "elements", "in the picture", target=MOST_ELEMENTS)
    detail = f"{few} with {BOOKINGS // 10}"
    report.figure(f"{name}: queries", max(few, many), "", detail, target=MOST_QUERIES + 1)


def _question(view: str) -> tuple[str, dict[str, str]]:
    return reverse("calendar"), {"view": view, "day": FIRST.isoformat()}


def _queries(client: Client, view: str) -> int:
    with CaptureQueriesContext(connection) as asked:
        client.get(*_question(view))
    return len(asked)


def _book(small: Small, days: int, number: int) -> None:
    """Fill bays with visits of a hundred minutes, all inside the days shown."""
    shop = small.shop
    bays = list(Resource.objects.of(shop).filter(name__startswith="Bench"))
    for k in range(len(bays), 20):
        bays.append(make.BayFactory(shop=shop, name=f"Bench {k}", position=k))
    customer, vehicle = _owner(shop)
    start = datetime(FIRST.year, FIRST.month, FIRST.day, 14, tzinfo=UTC)
    minute = timedelta(minutes=1)
    jobs: list[Job] = []
    stands: list[Resource] = []
    for k in range(number):
        lap, bay = divmod(k, len(bays))
        # Evenly over the days, one after another in each bay.
        turn, day = divmod(lap, days)
        at = start + timedelta(days=day) + turn * 105 * minute
        jobs.append(
            Job(
                shop=shop,
                number=f"B-{k:04}",
                customer=customer,
                vehicle=vehicle,
                title="Bench",
                state="booked",
                arrives_at=at,
                ready_at=at + 100 * minute,
                promised_at=at + 100 * minute,
                currency=shop.currency,
                price=100,
                labour_rate=shop.labour_rate,
                bay_rate=shop.bay_rate,
                overhead_rate=shop.overhead_rate,
            )
        )
        stands.append(bays[bay])
    Job.objects.bulk_create(jobs)
    Hold.objects.bulk_create(
        Hold(shop=shop, job=job, resource=bay, start=job.arrives_at, end=job.ready_at)
        for job, bay in zip(jobs, stands, strict=True)
        if job.arrives_at is not None and job.ready_at is not None
    )
    Operation.objects.bulk_create(
        Operation(
            job=job,
            sequence=n,
            kind=kind,
            name=kind,
            attendance="through",
            bay_capability="any",
            skill="polish",
            crew_count=1,
            minutes_p10=b - a,
            minutes_p50=b - a,
            minutes_p90=b - a,
            planned_minutes=b - a,
            planned_start=job.arrives_at + a * minute,
            planned_end=job.arrives_at + b * minute,
        )
        for job in jobs
        for n, (kind, a, b) in enumerate(WORK, start=1)
        if job.arrives_at is not None
    )


def _owner(shop: Shop) -> tuple[Customer, Vehicle]:
    vehicle = Vehicle.objects.filter(customer__shop=shop).first()
    if vehicle is None:
        vehicle = make.VehicleFactory(customer=make.CustomerFactory(shop=shop))
    return vehicle.customer, vehicle


@contextmanager
def _database() -> Iterator[None]:
    """A database of its own, which is gone afterwards."""
    name = connection.creation.create_test_db(verbosity=0, autoclobber=True)
    try:
        with override_settings(ALLOWED_HOSTS=["testserver"]):
            yield
    finally:
        connection.creation.destroy_test_db(name, verbosity=0)
