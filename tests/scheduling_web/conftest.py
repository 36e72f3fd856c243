"""A small shop at nine on a Monday, its people signed in, and somebody of another shop."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from scheduling.services.bookings import booking_make
from scheduling.services.floor import job_check_in, work_finish, work_start
from shop.models import Job, Member, OperationState
from tests import factories as make
from tests.factories import NOW
from tests.scheduling.shops import Small, coat, correction, cure, quoted_job, small_shop, wash


@dataclass
class World:
    """The shop and a browser for each role; ``clock`` moves everybody's time."""

    small: Small
    clock: time_machine.Traveller
    outsider: Member

    def client(self, who: str) -> Client:
        """A browser in which owner, desk, tech or outsider is signed in."""
        member = self.outsider if who == "outsider" else getattr(self.small, who)
        client = Client()
        client.force_login(member.user)
        return client

    def booked(self, *rows: dict, coated: bool = False, days: int = 0) -> Job:
        """A job booked as early as it can be: a wash and a correction, or a coating too."""
        work = rows or (
            (wash(), correction(), coat(), cure()) if coated else (wash(), correction())
        )
        job = quoted_job(self.small, *work)
        earliest = NOW + timedelta(days=days)
        return booking_make(job=job, member=self.small.desk, now=NOW, earliest=earliest)

    def here(self, job: Job) -> Job:
        """The vehicle has come."""
        return job_check_in(job=job, member=self.small.desk, now=NOW)

    def work_through(self, job: Job) -> Job:
        """Do every attended operation in the time that was planned for it."""
        assert job.arrives_at is not None
        at = job.arrives_at
        for operation in job.operations.exclude(attendance="unattended"):
            work_start(operation=operation, member=self.small.tech, now=at)
            at += timedelta(minutes=operation.planned_minutes)
            operation.refresh_from_db()
            assert operation.state == OperationState.RUNNING
            work_finish(operation=operation, member=self.small.tech, now=at)
        self.clock.shift(at - NOW)
        job.refresh_from_db()
        return job


@pytest.fixture
def world(db: None) -> Iterator[World]:
    with time_machine.travel(NOW, tick=False) as clock:
        yield World(small_shop(), clock, make.MemberFactory())


@pytest.fixture
def owner(world: World) -> Client:
    return world.client("owner")


@pytest.fixture
def desk(world: World) -> Client:
    return world.client("desk")


@pytest.fixture
def tech(world: World) -> Client:
    return world.client("tech")


@pytest.fixture
def text() -> Callable[[object], str]:
    """The words of a page without its runs of white space."""
    return lambda answer: " ".join(answer.content.decode().split())  # type: ignore[attr-defined]
