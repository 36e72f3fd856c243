"""Start, pause, finish: one tap each, with or without scripts, and a refusal that says why."""

from datetime import timedelta

import pytest
from django.urls import reverse

from shop.models import JobState, Operation, WorkEntry

FLOOR = reverse("floor")


def step(operation: Operation, word: str) -> str:
    return reverse("floor_work", args=[operation.pk, word])


def test_work_goes_from_start_to_done(world, tech, text) -> None:
    job = world.here(world.booked())
    wash, correction = job.operations.all()
    assert f'id="start-{wash.pk}"' in text(tech.get(FLOOR))
    assert "Prep wash is running." in text(tech.post(step(wash, "start"), follow=True))
    world.clock.shift(timedelta(minutes=25))
    seen = text(tech.get(FLOOR))
    assert '<span class="time">25 min</span>' in seen
    assert "you are on <b>Prep wash</b>" in seen
    # A wash may not stand still, so there is nothing to tap for it.
    assert "Pause" not in seen
    assert "Prep wash is done." in text(tech.post(step(wash, "finish"), follow=True))
    tech.post(step(correction, "start"))
    assert "Machine correction is paused." in text(
        tech.post(step(correction, "pause"), follow=True)
    )
    assert "Go on" in text(tech.get(FLOOR))
    tech.post(step(correction, "start"))
    tech.post(step(correction, "finish"))
    job.refresh_from_db()
    assert job.state == JobState.READY
    assert WorkEntry.objects.filter(ended_at__isnull=False).count() == 3


def test_time_worked_is_the_sum_of_its_stretches(world, tech, text) -> None:
    job = world.here(world.booked())
    wash, correction = job.operations.all()
    tech.post(step(wash, "start"))
    tech.post(step(wash, "finish"))
    for minutes in (70, 20):
        tech.post(step(correction, "start"))
        world.clock.shift(timedelta(minutes=minutes))
        tech.post(step(correction, "pause"))
        world.clock.shift(timedelta(minutes=30))
    assert '<span class="time">1 h 30 min</span>' in text(tech.get(FLOOR))


def test_a_tap_out_of_order_is_refused_in_words(world, tech, text) -> None:
    job = world.here(world.booked())
    correction = job.operations.last()
    answer = tech.post(step(correction, "start"))
    assert answer.status_code == 400
    assert "Prep wash comes first and is planned." in text(answer)
    assert not WorkEntry.objects.exists()


def test_a_second_person_at_two_places_is_told(world, tech, text) -> None:
    first, second = world.here(world.booked()), world.here(world.booked())
    tech.post(step(first.operations.first(), "start"))
    answer = tech.post(step(second.operations.first(), "start"))
    assert answer.status_code == 409
    assert f"is working on Prep wash of {first.number}" in text(answer)


def test_to_a_script_only_the_floor_is_answered(world, tech, text) -> None:
    job = world.here(world.booked())
    wash = job.operations.first()
    answer = tech.post(step(wash, "start"), headers={"HX-Request": "true"})
    seen = text(answer)
    assert answer.status_code == 200
    assert "<html" not in seen
    assert 'hx-swap-oob="true"' in seen
    assert "Prep wash is running." in seen
    assert f'id="finish-{wash.pk}"' in seen


def test_the_refresh_leaves_messages_where_they_are(world, tech, text) -> None:
    assert "hx-swap-oob" not in text(tech.get(FLOOR, headers={"HX-Request": "true"}))


@pytest.mark.parametrize("word", ["destroy", "START"])
def test_an_unknown_step_is_not_found(world, tech, word) -> None:
    job = world.here(world.booked())
    assert tech.post(step(job.operations.first(), word)).status_code == 404
