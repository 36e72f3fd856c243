"""What a change at the quote desk costs the server: the price, the visits, who fits.

The invented shop of ``manage.py demo`` in a database of its own that is dropped after.
The changes are those of a call: a letter in the box, the body, the age, an answer, a step
of the curve, a coating, an add-on, a discount. The whole request is timed through Django's
test client: middleware, session, draft, estimate, template. The target is held against
processor time, which a busy machine does not stretch; the clock's figure stands beside it.
"""

from __future__ import annotations

import io
import time
from collections.abc import Callable, Iterator
from itertools import count
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.urls import reverse

from shop.models import Member
from tests.bench.report import MS, Report

ROUNDS = 6
ANSWER_P95_MS = 200.0
START = {"aim": "cleared", "cleared": "60", "wash": "standard", "body": "sedan", "age_years": "3"}
CHANGES: tuple[dict[str, str | list[str]], ...] = (
    {"name": "Marlow Quill"},
    {"body": "suv"},
    {"age_years": "7"},
    {"hardness": "hard"},
    {"storage": "street"},
    {"wash_habit": "brushes"},
    {"pick": "85"},
    {"aim": "cap", "cap": "900"},
    {"coating": "lantern"},
    {"coating": "lantern", "discount": "10"},
)
TYPED = ("ben", "benno", "Beno Dunmre", "555 0122", "555 0121", "kx", "Quentyn")
HTMX = {"HX-Request": "true"}


def run(report: Report) -> None:
    """Play the shop, then call."""
    name = connection.settings_dict["NAME"]
    connection.creation.create_test_db(verbosity=0, autoclobber=True)
    settings.ALLOWED_HOSTS = [*settings.ALLOWED_HOSTS, "testserver"]
    try:
        call_command("demo", stdout=io.StringIO())
        member = Member.objects.select_related("user").get(user__username="desk")
        client = Client()
        client.force_login(member.user)
        _measure(report, client)
    finally:
        connection.creation.destroy_test_db(name, verbosity=0)


def _measure(report: Report, client: Client) -> None:
    changes: list[dict[str, Any]] = [{**START, **change} for change in CHANGES]
    asked: list[dict[str, Any]] = [{**START, "q": text} for text in TYPED]
    for name, address, given in (
        ("a change at the desk: price, p95", "desk", changes),
        ("its visits, p95", "desk_visits", changes),
        ("who fits what was typed, p95", "desk_callers", asked),
    ):
        _p95(report, name, _asking(client, reverse(address), given))


def _asking(
    client: Client, address: str, given: list[dict[str, str | list[str]]]
) -> Iterator[Callable[[], object]]:
    """The requests of some calls, each kept as a draft of its own."""
    turns = count(1)
    for _round in range(ROUNDS):
        key = {"call": str(uuid4()), "page": "bench"}
        for fields in given:
            data = fields | key | {"turn": str(next(turns))}
            yield lambda data=data: client.post(address, data, headers=HTMX)  # type: ignore[misc]


def _p95(report: Report, name: str, asking: Iterator[Callable[[], object]]) -> None:
    wall, cpu = [], []
    next(asking)()  # what is kept in the process is read once
    for ask in asking:
        started, worked = time.perf_counter(), time.process_time()
        answer = ask()
        wall.append(time.perf_counter() - started)
        cpu.append(time.process_time() - worked)
        assert getattr(answer, "status_code", 0) == 200
    at = int(0.95 * (len(wall) - 1))
    detail = (
        f"processor time of {len(cpu)} requests on {connection.vendor}; "
        f"by the clock {sorted(wall)[at] * MS:,.0f} ms"
    )
    report.figure(name, sorted(cpu)[at] * MS, "ms", detail, target=ANSWER_P95_MS)
