"""A page asks the database at most twelve times, whatever the number of rows."""

from contextlib import contextmanager

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests import factories as make
from tests.factories import NOW
from tests.scheduling.shops import correction

MOST = 12


@contextmanager
def at_most(number: int):
    """Fail where the block asks the database more than ``number`` times."""
    with CaptureQueriesContext(connection) as asked:
        yield asked
    assert len(asked) <= number, "\n".join(query["sql"][:160] for query in asked)


def fill(world, vehicles: int) -> int:
    """Vehicles here and booked, with work, materials and messages; return one job's key."""
    jobs = [world.booked(correction(60), correction(60)) for _ in range(vehicles)]
    for job in jobs[: vehicles // 2 + 1]:
        world.here(job)
        for _ in range(vehicles):
            use = make.MaterialUseFactory(job=job)
            make.PlannedMaterialFactory(job=job, consumable=use.consumable)
            make.WorkEntryFactory(operation=job.operations.first())
    for _ in range(vehicles):
        bay = make.BayFactory(shop=world.small.shop, capabilities=["coating"])
        make.ClimateReadingFactory(resource=bay, at=NOW)
        make.ReminderFactory(job=jobs[0])
        make.JobEventFactory(job=jobs[0], member=world.small.desk)
    return jobs[0].pk


@pytest.mark.parametrize("vehicles", [1, 5])
@pytest.mark.parametrize(
    ("name", "question"),
    [
        ("calendar", ""),
        ("calendar", "?view=day"),
        ("calendar", "?view=fortnight"),
        ("calendar_live", ""),
        ("floor", ""),
        ("job", ""),
        ("promises", ""),
        ("reminders", "?show=due"),
    ],
)
def test_a_page_asks_at_most_twelve_times(world, name, question, vehicles) -> None:
    key = fill(world, vehicles)
    client = world.client("owner")
    address = reverse(name, args=[key] if name == "job" else []) + question
    client.get(address)
    with at_most(MOST):
        answer = client.get(address)
    assert answer.status_code == 200


def test_the_count_can_fail(world) -> None:
    with pytest.raises(AssertionError), at_most(1):
        world.client("owner").get(reverse("floor"))
