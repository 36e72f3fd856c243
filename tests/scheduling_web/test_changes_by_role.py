"""Changes are made by POST alone, by those whose work it is, and never across shops."""

from datetime import timedelta

import pytest
from django.urls import reverse

from tests import factories as make
from tests.factories import NOW

ROLES = ("owner", "desk", "tech", "outsider")
EVERYONE = (302, 302, 302, 404)
DESK = (302, 302, 403, 404)


def check_in(world):
    return reverse("job_check_in", args=[world.booked().pk]), {}


def floor_check_in(world):
    return reverse("floor_check_in", args=[world.booked().pk]), {}


def start(world):
    job = world.here(world.booked())
    return reverse("floor_work", args=[job.operations.first().pk, "start"]), {}


def cancel(world):
    return reverse("job_cancel", args=[world.booked().pk]), {"why": "Sold the vehicle"}


def no_show(world):
    job = world.booked()
    job.arrives_at = job.created_at
    job.save(update_fields=["arrives_at"])
    world.clock.shift(60)
    return reverse("job_no_show", args=[job.pk]), {}


def move(world):
    job = world.booked()
    values = {"earliest": "2026-03-05T08:00", "why": "Asked by the customer"}
    return reverse("job_move", args=[job.pk]), values


def hand_over(world):
    job = world.work_through(world.here(world.booked()))
    return reverse("job_hand_over", args=[job.pk]), {}


def climate(world):
    key = world.small.coating.pk
    values = {f"bay-{key}-air_c": "20", f"bay-{key}-humidity_percent": "50"}
    return reverse("floor_climate", args=[key]), values


def stop(world):
    key = world.booked(days=1).reminders.first().pk
    return reverse("reminder_stop", args=[key]), {f"stop-{key}-why": "Said on the phone"}


def absence(world):
    values = {"start": "2026-03-02T09:00", "end": "2026-03-03T09:00", "reason": "Repair"}
    # To another shop our bay is no choice at all: refused at its field.
    return reverse("absence_add"), {**values, "resource": world.small.coating.pk}


def absence_over(world):
    end = NOW + timedelta(hours=1)
    made = make.AbsenceFactory(resource=world.small.lamp, start=NOW, end=end)
    return reverse("absence_end", args=[made.pk]), {}


CHANGES = [
    (check_in, EVERYONE),
    (floor_check_in, EVERYONE),
    (start, EVERYONE),
    (climate, EVERYONE),
    (cancel, DESK),
    (no_show, DESK),
    (move, DESK),
    (hand_over, DESK),
    (stop, DESK),
    (absence, (302, 302, 403, 400)),
    (absence_over, DESK),
]


@pytest.mark.parametrize("position", range(4), ids=ROLES)
@pytest.mark.parametrize(
    ("change", "answers"), CHANGES, ids=lambda one: getattr(one, "__name__", "")
)
def test_only_those_whose_work_it_is(world, change, answers, position) -> None:
    address, values = change(world)
    client = world.client(ROLES[position])
    assert client.post(address, values).status_code == answers[position]


@pytest.mark.parametrize(("change", "_answers"), [c for c in CHANGES if c[0] is not move])
def test_looking_changes_nothing(world, change, _answers) -> None:
    address, _values = change(world)
    assert world.client("owner").get(address).status_code == 405
