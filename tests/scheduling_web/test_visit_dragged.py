"""What the calendar's script asks and sends while a visit is dragged."""

from datetime import timedelta

from django.urls import reverse

from scheduling.services.bookings import booking_move
from tests.factories import NOW

WEDNESDAY = "2026-03-04T16:00:00Z"  # ten o'clock in Chicago


def fit(client, job, at=WEDNESDAY, **more):
    return client.get(reverse("visit_fit", args=[job.pk]), {"at": at, **more})


def put(client, job, told, **changes):
    names = ("seen", "arrives", "promised")
    values = {"at": WEDNESDAY, "bay": "", "why": "Asked", **{n: told[n] for n in names}}
    return client.post(reverse("visit_put", args=[job.pk]), {**values, **changes})


def test_the_answer_says_where_it_lands_and_who_is_told(world, desk) -> None:
    job = world.booked()
    told = fit(desk, job).json()
    assert told["fits"]
    assert told["said"].startswith("Comes Wed 4 Mar 10:00, Wash bay, Correction bay; pick-up")
    assert told["told"] == f"{job.customer.name} is written to with the new times."
    assert {stay[0] for stay in told["stays"]} >= {world.small.wash.pk, world.small.correction.pk}


def test_a_refusal_says_why(world, desk) -> None:
    job = world.booked()
    assert "has passed" in fit(desk, job, "2026-03-01T16:00:00Z").json()["said"]
    world.small.crew.skills = ["wash"]
    world.small.crew.save()
    answer = fit(desk, job).json()
    assert not answer["fits"]
    assert "needs 1 trained for “polish”" in answer["said"]


def test_what_cannot_be_read_names_the_field(world, desk) -> None:
    answer = fit(desk, world.booked(), "soon", bay="99999")
    assert answer.status_code == 400
    assert "at: " in answer.json()["said"]
    assert "bay: " in answer.json()["said"]


def test_it_moves_and_goes_back(world, desk) -> None:
    job = world.booked()
    arrives = job.arrives_at
    done = put(desk, job, fit(desk, job).json()).json()
    assert done["said"] == f"{job.number} now arrives Wed 4 Mar 10:00."
    back = desk.post(reverse("visit_back"), {"back": done["back"]})
    assert back.json()["said"] == f"{job.number} is back where it was: it arrives today 9:00."
    job.refresh_from_db()
    assert job.arrives_at == arrives


def test_two_people_who_move_one_vehicle_are_told(world, desk) -> None:
    job = world.booked()
    told = fit(desk, job).json()
    later = NOW + timedelta(days=1)
    booking_move(job=job, member=world.small.owner, now=NOW, earliest=later)
    answer = put(desk, job, told)
    assert answer.status_code == 409
    assert f"moved by {world.small.owner.name} meanwhile, to Tue 3 Mar" in answer.json()["said"]
    job.refresh_from_db()
    assert job.arrives_at == later
