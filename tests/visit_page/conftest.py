"""A shop, a customer with an inspected vehicle, and the customer's browser, never signed in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client

from estimating.models import Quote
from estimating.services.customer_pages import page_of, page_path
from estimating.services.inspections import inspection_save
from scheduling.services.floor import job_check_in, job_hand_over, work_finish, work_start
from shop.models import Job
from tests.factories import NOW, fender
from tests.web.conftest import World, made

SWIRLS = [
    {"kind": "swirl_marks", "severity": "moderate", "extent": 0.7},
    {"kind": "etching", "severity": "heavy", "count": 2},
]
PANELS = [
    fender(panel="hood", defects=SWIRLS),
    fender(panel="front_left_door", defects=SWIRLS),
    fender(panel="roof", defects=SWIRLS[:1]),
    fender(panel="front_right_door", spots=[[3.1, 3.1, 3.0], [3.2, 3.2, 3.1]]),
    fender(panel="front_right_fender", spots=[[9.3, 9.9, 9.8], [8.9, 9.2, 9.6]]),
    fender(),
]


@dataclass
class Caller:
    """Somebody outside with a link to one quote."""

    world: World
    quote: Quote
    clock: Any

    def __post_init__(self) -> None:
        self.client = Client()
        self.path = page_path(page_of(self.quote))

    def see(self, rest: str = "", **data: Any) -> Any:
        return self.client.get(self.path + rest, data)

    def say(self, rest: str, version: int = 1, **data: Any) -> Any:
        return self.client.post(self.path + rest, {"version": version, **data})

    def text(self, rest: str = "") -> str:
        answer = self.see(rest)
        assert answer.status_code == 200
        return " ".join(answer.content.decode().split())

    def book(self, place: int = 0) -> Job:
        """Pick a time as the page offers it."""
        offer = self.see("time/").context["offers"][place]
        version = self.see().context["quote"].version
        assert self.say("time/", version, slot=offer.key).status_code == 302
        return Job.objects.get(quote__number=self.quote.number)

    def work(self, job: Job) -> Job:
        """Bring the vehicle and do every attended operation."""
        tech, at = self.world.small.tech, job.arrives_at
        assert at is not None
        job_check_in(job=job, member=tech, now=at)
        for operation in job.operations.exclude(attendance="unattended"):
            work_start(operation=operation, member=tech, now=at)
            at += timedelta(minutes=operation.planned_minutes)
            work_finish(operation=operation, member=tech, now=at)
        self.clock.move_to(at)
        job.refresh_from_db()
        return job

    def hand_over(self, job: Job) -> Job:
        """Fetch the vehicle a day after the work was done."""
        assert job.ready_at is not None
        at = job.ready_at + timedelta(days=1)
        owner = self.world.small.owner
        job_hand_over(job=job, member=owner, now=at, reason="the customer needs it")
        self.clock.move_to(at)
        job.refresh_from_db()
        return job


@pytest.fixture
def world(db: None) -> Iterator[World]:
    with time_machine.travel(NOW, tick=False) as clock:
        found = made()
        inspection_save(
            vehicle=found.vehicle,
            member=found.small.tech,
            now=NOW,
            document={"unit": "mil", "panels": PANELS},
            inspection=found.inspection,
            version=found.inspection.version,
        )
        found.clock = clock  # type: ignore[attr-defined]
        yield found


@pytest.fixture
def caller(world: World) -> Caller:
    return Caller(world, world.quote(inspection=world.inspection), world.clock)  # type: ignore[attr-defined]
