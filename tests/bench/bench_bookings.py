"""Bookings a second with 32 clients, and a move among a hundred thousand holds.

Needs PostgreSQL; makes a database of its own and drops it. The move is measured on SQLite
as well. Clients are processes on this machine: on few cores it is the cores that are measured.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from tests import reachable
from tests.bench.report import Report
from tests.stress.database import database

ROOT = Path(__file__).resolve().parents[2]
CLIENTS, EACH = 32, 6
HOLDS = 100_000
MOVES = 20
_BEGIN = "import django; django.setup()\n"
_RATE = f"""
import json, time
from datetime import timedelta
from multiprocessing import get_context
from django.db import connections
from scheduling.models import Resource
from scheduling.services.bookings import booking_make
from shop.models import Job, Member
from tests.factories import NOW
from tests.scheduling.shops import quoted_job, small_shop
from tests.stress.round_slots import offer_of

def book(wanted):
    connections.close_all()
    for pk, number in wanted:
        job = Job.objects.select_related("shop").get(pk=pk)
        member = Member.objects.filter(shop=job.shop).earliest("pk")
        offer = offer_of(Resource.objects.get(pk=BAY), number)
        booking_make(job=job, member=member, now=NOW, offer=offer)

small = small_shop()
BAY = small.correction.pk
wants = [[(quoted_job(small).pk, client * {EACH} + k) for k in range({EACH})]
         for client in range({CLIENTS})]
connections.close_all()
with get_context("fork").Pool({CLIENTS}) as pool:
    began = time.perf_counter()
    pool.map(book, wants, chunksize=1)
    seconds = time.perf_counter() - began
print(json.dumps(seconds))
"""
_MOVE = f"""
import json, time
from datetime import timedelta
from django.db import connection
from scheduling.models import Hold
from scheduling.services.bookings import booking_make, booking_move
from tests import factories
from tests.factories import NOW
from tests.scheduling.shops import quoted_job, small_shop

small = small_shop()
jobs = [quoted_job(small) for _ in range({MOVES})]
other = factories.JobFactory(shop=small.shop)
bays = [factories.BayFactory(shop=small.shop, capabilities=["detail"]) for _ in range(20)]
start, rows = NOW, []
for number in range({HOLDS}):
    at = NOW + timedelta(hours=2 * (number // len(bays)) - 4000)
    rows.append(Hold(shop=small.shop, resource=bays[number % len(bays)], job=other,
                     start=at, end=at + timedelta(hours=2)))
Hold.objects.bulk_create(rows, batch_size=5000)
for job in jobs:
    booking_make(job=job, member=small.desk, now=NOW)
seconds = []
for job in jobs:
    job.refresh_from_db()
    began = time.perf_counter()
    booking_move(job=job, member=small.desk, now=NOW, earliest=NOW + timedelta(days=14))
    seconds.append(time.perf_counter() - began)
print(json.dumps(seconds))
"""


def run(report: Report) -> None:
    """Measure both."""
    server, reason = reachable.postgres()
    if reason:
        report.note(f"bookings: not measured, {reason}")
        return
    with tempfile.TemporaryDirectory(prefix="halfmil bench ") as var:
        with database(server, f"halfmil_bench_{os.getpid()}") as url:
            seconds = _done(_RATE, url, var)
            count = CLIENTS * EACH
            report.note(
                f"bookings, {CLIENTS} clients, PostgreSQL: {count / seconds:.0f} a second "
                f"({count} bookings in {seconds:.1f} s)"
            )
        with database(server, f"halfmil_bench_{os.getpid()}") as url:
            _moves(report, "PostgreSQL", url, var)
        _moves(report, "SQLite", f"sqlite:///{var}/bench.sqlite3", var)


def _moves(report: Report, name: str, url: str, var: str) -> None:
    seconds = sorted(_done(_MOVE, url, var))
    report.timing(f"a move among {HOLDS:,} holds, {name}", seconds)
    report.note(f"  95th percentile {1000 * seconds[int(0.95 * len(seconds))]:.0f} ms")


def _done(code: str, url: str, var: str) -> Any:
    environment = {
        **os.environ,
        "HALFMIL_DATABASE_URL": url,
        "HALFMIL_VAR_DIR": var,
        "DJANGO_SETTINGS_MODULE": "shop.settings",
        "HALFMIL_LOG_LEVEL": "ERROR",
    }
    migrate = [sys.executable, "manage.py", "migrate", "-v0"]
    subprocess.run(migrate, cwd=ROOT, env=environment, check=True)
    command = [sys.executable, "-c", _BEGIN + code]
    made = subprocess.run(command, cwd=ROOT, env=environment, check=True, capture_output=True)
    return json.loads(made.stdout.splitlines()[-1])
