"""Many processes fight for the same slots: each slot once, every loser told, no error page.

On PostgreSQL with processes, a few of them over the HTTP API; on SQLite with threads, in a
database of its own beside the round's.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import tempfile
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from multiprocessing import get_context
from pathlib import Path

from django.db import connection, connections
from rest_framework.test import APIClient

from scheduling.models import Hold, Resource
from scheduling.services.bookings import SlotTaken, booking_make
from scheduling.services.holder import Holder
from scheduling.services.kept import slot_keep
from scheduling.services.offers import Held, Offer, Step
from shop.models import Job, Member, Role
from shop.refusals import Refused
from tests.factories import NOW
from tests.scheduling.shops import quoted_job, small_shop
from tests.stress.report import StressReport

ROOT = Path(__file__).resolve().parents[2]
AGAIN = "tests.stress.round_slots"


def offer_of(bay: Resource, number: int) -> Offer:
    """The slot of a number: two hours of one bay, one after the other."""
    start = NOW + timedelta(days=1, hours=2 * number)
    end = start + timedelta(hours=2)
    return Offer(
        arrives_at=start,
        ready_at=end,
        pick_up_at=end,
        promised_at=end,
        promise_probability=None,
        steps=(Step(1, start, end, bay.name, ()),),
        holds=(Held(bay, start, end, 1, "work"),),
    )


def fights(wanted: list[tuple[int, int, int]], seed: int) -> Counter[str]:
    """Want each (job, slot, bay) in an order of one's own; count what came of it."""
    came: Counter[str] = Counter()
    random.Random(seed).shuffle(wanted)  # noqa: S311 -- an order, no secret
    for job_id, number, bay_id in wanted:
        job = Job.objects.select_related("shop").get(pk=job_id)
        member = Member.objects.filter(shop=job.shop).earliest("pk")
        offer = offer_of(Resource.objects.get(pk=bay_id), number)
        try:
            if seed % 4 == 3:
                rows = list(job.operations.all())
                slot: Holder = slot_keep(
                    shop=job.shop, member=member, operations=rows, offer=offer, now=NOW
                )
                booking_make(job=job, member=member, now=NOW, kept=slot)  # type: ignore[arg-type]
            else:
                booking_make(job=job, member=member, now=NOW, offer=offer)
            came["booked"] += 1
        except SlotTaken as taken:
            came["told" if taken.taken else "told nothing"] += 1
        except Refused as refused:
            came[f"refused: {refused}"] += 1
        except Exception as error:  # noqa: BLE001 -- whatever it is, it would be an error page
            came[f"ERROR {type(error).__name__}"] += 1
    return came


def process(wanted: list[tuple[int, int, int]], seed: int) -> Counter[str]:
    """``fights`` in a process of its own, with its own connection."""
    connections.close_all()
    return fights(wanted, seed)


def over_http(jobs: list[int], seed: int) -> Counter[str]:
    """The same over the API: each asks for the first visit that is free."""
    came: Counter[str] = Counter()
    member = Member.objects.select_related("user").filter(role=Role.OWNER).earliest("pk")
    client = APIClient(raise_request_exception=False, HTTP_HOST="localhost")
    client.force_login(member.user)
    for job in jobs:
        answer = client.post(f"/api/jobs/{job}/book/", {}, format="json")
        came[str(answer.status_code)] += 1
    connections.close_all()
    return came


def judged(report: StressReport, where: str, came: Counter[str], slots: int, wants: int) -> bool:
    """Report what came of a fight and what the database holds now."""
    errors = sum(count for name, count in came.items() if name.startswith("ERROR"))
    other = {name: count for name, count in came.items() if name not in ("booked", "told")}
    if other:
        report.note(f"{where}: {other}")
    held = Hold.objects.filter(purpose="work", operation__isnull=False, kept__isnull=True)
    spans = Counter(held.values_list("resource_id", "start"))
    return all(
        [
            report.equal(f"{where}: slots booked", came["booked"], slots),
            report.equal(f"{where}: slots held twice", sum(n > 1 for n in spans.values()), 0),
            report.equal(f"{where}: holds", len(spans), slots),
            report.equal(f"{where}: losers told who has it", came["told"], wants - slots),
            report.equal(f"{where}: errors", errors, 0),
        ]
    )


def prepared(slots: int, fighters: int) -> list[list[tuple[int, int, int]]]:
    """A shop, and for each fighter a job for every slot."""
    small = small_shop()
    bay = small.correction.pk
    return [
        [(quoted_job(small, agree=False).pk, number, bay) for number in range(slots)]
        for _fighter in range(fighters)
    ]


def on_sqlite(short: bool) -> None:
    """The fight of threads, called in a process of its own with a database of its own."""
    report = StressReport(lambda line: print(line, flush=True))
    slots, fighters = (20, 8) if short else (200, 8)
    wants = prepared(slots, fighters)
    with ThreadPoolExecutor(fighters) as pool:
        came = sum(pool.map(process_thread, wants, range(fighters)), Counter[str]())
    ok = judged(report, "8 threads, SQLite", came, slots, slots * fighters)
    sys.exit(0 if ok else 1)


def process_thread(wanted: list[tuple[int, int, int]], seed: int) -> Counter[str]:
    """``fights`` in a thread, whose connection is closed at its end."""
    try:
        return fights(wanted, seed)
    finally:
        connection.close()


def run(report: StressReport, short: bool) -> bool:
    """Run the fights on both databases."""
    slots, fighters = (10, 8) if short else (200, 32)
    wants = prepared(slots, fighters)
    connections.close_all()
    with get_context("fork").Pool(fighters) as pool:
        came = sum(pool.starmap(process, zip(wants, range(fighters), strict=True)), Counter[str]())
        ok = judged(report, f"{fighters} processes, PostgreSQL", came, slots, slots * fighters)
        extra = [[job for job, _n, _bay in wants[k][-3:]] for k in range(min(8, fighters))]
        extra = [[pk for pk in jobs if Job.objects.get(pk=pk).state == "quoted"] for jobs in extra]
        connections.close_all()
        answers = sum(
            pool.starmap(over_http, zip(extra, range(len(extra)), strict=True)), Counter[str]()
        )
    fine = {"200", "409"}
    report.note(f"over HTTP: {dict(answers)}")
    wrong = sum(count for code, count in answers.items() if code not in fine)
    ok = report.equal("over HTTP: answers that are error pages", wrong, 0) and ok
    with tempfile.TemporaryDirectory(prefix="halfmil slots ") as var:
        url = f"sqlite:///{var}/slots.sqlite3"
        environment = os.environ | {"HALFMIL_DATABASE_URL": url, "HALFMIL_VAR_DIR": var}
        migrate = [sys.executable, "manage.py", "migrate", "--verbosity", "0"]
        subprocess.run(migrate, cwd=ROOT, env=environment, check=True)
        call = f"import django; django.setup(); import {AGAIN} as r; r.on_sqlite({short})"
        threads = [sys.executable, "-c", call]
        environment["DJANGO_SETTINGS_MODULE"] = "shop.settings"
        done = subprocess.run(threads, cwd=ROOT, env=environment, check=False)
    return report.equal("8 threads, SQLite: exit status", done.returncode, 0) and ok
