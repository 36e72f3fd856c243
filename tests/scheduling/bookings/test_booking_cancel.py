"""Cancelling frees everything, withdraws the messages, and is refused once work has begun."""

from datetime import timedelta

import pytest

from scheduling.models import Hold, Reminder, ReminderState
from scheduling.services.bookings import booking_cancel, booking_make
from scheduling.services.floor import job_check_in, work_start
from shop.models import JobState
from shop.refusals import Refused
from tests.factories import NOW
from tests.scheduling.shops import quoted_job, small_shop

pytestmark = pytest.mark.django_db
TOMORROW = NOW + timedelta(days=1)


def booked():
    small = small_shop()
    job = quoted_job(small)
    booking_make(job=job, member=small.desk, now=NOW, earliest=TOMORROW)
    return small, job


def test_the_time_is_free_again_and_the_event_remembers_it():
    small, job = booked()
    booking_cancel(job=job, member=small.desk, now=NOW, why="Vehicle was sold")
    assert job.state == JobState.CANCELLED
    assert not Hold.objects.filter(job=job).exists()
    assert not job.operations.filter(planned_start__isnull=False).exists()
    event = job.events.get(to_state=JobState.CANCELLED)
    assert event.why == "Vehicle was sold"
    assert event.details["before"]["holds"]
    other = quoted_job(small)
    booking_make(job=other, member=small.desk, now=NOW, earliest=TOMORROW)
    assert other.arrives_at == job.arrives_at


def test_messages_are_withdrawn_with_the_reason():
    small, job = booked()
    booking_cancel(job=job, member=small.desk, now=NOW, why="Vehicle was sold")
    rows = set(Reminder.objects.filter(job=job).values_list("state", "why"))
    assert rows == {(ReminderState.WITHDRAWN, "Cancelled: Vehicle was sold")}


def test_a_reason_is_needed():
    small, job = booked()
    with pytest.raises(Refused) as refused:
        booking_cancel(job=job, member=small.desk, now=NOW, why="  ")
    assert "why" in refused.value.by_field()
    assert Hold.objects.filter(job=job).exists()


def test_a_job_in_work_is_not_cancelled():
    small, job = booked()
    job_check_in(job=job, member=small.desk, now=TOMORROW)
    work_start(operation=job.operations.get(), member=small.tech, now=TOMORROW)
    job.refresh_from_db()
    with pytest.raises(Refused, match="is in work and cannot be cancelled"):
        booking_cancel(job=job, member=small.desk, now=TOMORROW, why="Changed their mind")
    job.refresh_from_db()
    assert job.state == JobState.IN_WORK
    assert Hold.objects.filter(job=job).exists()
