"""Moving a booking: what is free is offered, one is taken, and what is in the way is said."""

from datetime import UTC, datetime

from django.urls import reverse

from scheduling.models import Hold
from shop.models import JobState


def address(job) -> str:
    return reverse("job_move", args=[job.pk])


def test_what_is_free_is_offered_in_the_shops_time(world, desk, text) -> None:
    job = world.booked()
    seen = text(desk.get(address(job), {"earliest": "2026-03-04T10:00"}))
    assert 'value="2026-03-04T10:00" checked' in seen
    assert "Drop-off <b><time" in seen
    assert "Wed 4 Mar 10:00" in seen


def test_the_chosen_time_is_taken_and_said(world, desk, text) -> None:
    job = world.booked()
    values = {"earliest": "2026-03-04T10:00", "why": "Asked by the customer"}
    done = text(desk.post(address(job), values, follow=True))
    assert f"{job.number} now arrives Wed 4 Mar 10:00." in done
    assert "Booking moved" in done
    assert "Asked by the customer" in done
    job.refresh_from_db()
    # Ten o'clock in Chicago in winter.
    assert job.arrives_at == datetime(2026, 3, 4, 16, 0, tzinfo=UTC)


def test_a_move_without_reason_or_time_changes_nothing(world, desk, text) -> None:
    job = world.booked()
    for values in (
        {"earliest": "2026-03-04T10:00"},
        {"why": "So"},
        {"earliest": "soon", "why": "So"},
    ):
        assert desk.post(address(job), values).status_code == 400
    arrives = job.arrives_at
    job.refresh_from_db()
    assert job.arrives_at == arrives


def test_a_vehicle_that_is_here_cannot_be_moved(world, desk, text) -> None:
    job = world.here(world.booked())
    held = Hold.objects.filter(job=job).count()
    values = {"earliest": "2026-03-04T10:00", "why": "Asked"}
    refused = desk.post(address(job), values)
    assert refused.status_code == 400
    assert "the vehicle is here" in text(refused)
    assert 'value="Asked"' in text(refused)
    job.refresh_from_db()
    assert job.state == JobState.ON_SITE
    assert Hold.objects.filter(job=job).count() == held


def test_where_nothing_is_free_the_reason_is_said(world, desk, text) -> None:
    job = world.booked()
    world.small.crew.skills = ["wash"]
    world.small.crew.save()
    seen = text(desk.get(address(job)))
    assert "Nothing is free" in seen
    assert "Machine correction: needs 1 trained for “polish”" in seen
