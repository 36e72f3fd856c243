"""A coated vehicle goes its whole way over the floor."""

from datetime import timedelta

import pytest

from estimating.selectors import balance_of
from scheduling.models import Cure, Hold, Reminder, ReminderPurpose, ReminderState
from scheduling.services.bookings import booking_make
from scheduling.services.cures import cures_update
from scheduling.services.floor import (
    job_check_in,
    job_close,
    job_hand_over,
    work_finish,
    work_start,
)
from shop.models import JobState, OperationState
from shop.services.payments import payment_record
from tests.factories import NOW
from tests.scheduling.shops import coat, correction, cure, quoted_job, small_shop, wash

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


def work(small, job, sequence, start, hours):
    operation = job.operations.get(sequence=sequence)
    work_start(operation=operation, member=small.tech, now=start)
    work_finish(operation=operation, member=small.tech, now=start + hours * HOUR)
    job.refresh_from_db()
    return start + hours * HOUR


def coated(small):
    """Booked, checked in and worked on until the coat is finished."""
    job = quoted_job(small, wash(), correction(300), coat(), cure(720))
    booking_make(job=job, member=small.desk, now=NOW)
    job_check_in(job=job, member=small.desk, now=NOW)
    assert job.state == JobState.ON_SITE
    at = work(small, job, 1, NOW, 0.5)
    assert job.state == JobState.IN_WORK
    at = work(small, job, 2, at, 4)
    return job, work(small, job, 3, at, 1)


def test_finishing_the_last_coat_starts_the_cure_and_its_message():
    small = small_shop()
    job, at = coated(small)
    assert job.state == JobState.CURING
    running = Cure.objects.get(job=job)
    # No coating system on the quote: the planned twelve hours stand, whatever the temperature.
    assert running.started_at == at
    assert running.forecast_handover_at == at + 12 * HOUR
    assert job.operations.get(sequence=4).state == OperationState.RUNNING
    reminder = Reminder.objects.get(job=job, purpose=ReminderPurpose.CURE_DONE)
    # 14:30 and twelve hours is half past two at night; messages wait until 08:00 in Chicago.
    assert reminder.due_at.isoformat() == "2026-03-03T14:00:00+00:00"


def test_the_clock_ends_the_cure_and_makes_the_vehicle_ready():
    small = small_shop()
    job, at = coated(small)
    assert cures_update(now=at + 11.9 * HOUR) == 0
    assert cures_update(now=at + 12 * HOUR) == 1
    assert cures_update(now=at + 13 * HOUR) == 0
    job.refresh_from_db()
    assert job.state == JobState.READY
    operation = job.operations.get(sequence=4)
    assert (operation.state, operation.finished_at) == (OperationState.DONE, at + 12 * HOUR)


def test_ready_is_said_once_and_says_the_end_of_the_cure_too():
    small = small_shop()
    job, at = coated(small)
    cures_update(now=at + 12 * HOUR)
    states = dict(
        Reminder.objects.filter(job=job)
        .exclude(purpose=ReminderPurpose.CONFIRM)
        .values_list("purpose", "state")
    )
    assert states == {
        ReminderPurpose.CURE_DONE: ReminderState.WITHDRAWN,
        ReminderPurpose.READY: ReminderState.DUE,
    }


def test_handing_over_frees_what_is_held_and_writes_aftercare():
    small = small_shop()
    job, at = coated(small)
    leaves = at + 16 * HOUR
    job_hand_over(job=job, member=small.desk, now=leaves)
    assert (job.state, job.handed_over_at) == (JobState.HANDED_OVER, leaves)
    assert not Hold.objects.filter(job=job, end__gt=leaves).exists()
    due = dict(
        Reminder.objects.filter(job=job, state=ReminderState.DUE).values_list("purpose", "due_at")
    )
    assert set(due) == {
        ReminderPurpose.FIRST_WASH,
        ReminderPurpose.FIRST_INSPECTION,
        ReminderPurpose.YEARLY,
        ReminderPurpose.BALANCE_DUE,
    }
    yearly = Reminder.objects.filter(job=job, purpose=ReminderPurpose.YEARLY)
    local = [row.due_at.astimezone(small.shop.tz) for row in yearly.order_by("due_at")]
    assert [(day.year, day.month, day.day) for day in local] == [
        (leaves.year + years, leaves.month, leaves.day) for years in (1, 2, 3)
    ]
    assert due[ReminderPurpose.FIRST_INSPECTION] - leaves >= timedelta(days=30)
    job_close(job=job, member=small.desk, now=leaves + timedelta(days=2))
    assert job.state == JobState.CLOSED


def test_a_job_without_a_coat_is_ready_when_its_last_work_is_done():
    small = small_shop()
    job = quoted_job(small, correction(120))
    booking_make(job=job, member=small.desk, now=NOW)
    job_check_in(job=job, member=small.desk, now=NOW)
    at = work(small, job, 1, NOW, 1.5)
    assert job.state == JobState.READY
    payment_record(job=job, amount=balance_of(job), method="card", member=small.desk, now=at)
    job_hand_over(job=job, member=small.desk, now=at)
    assert not Reminder.objects.filter(job=job, state=ReminderState.DUE).exists()


def test_finishing_early_gives_people_back_but_keeps_the_bay():
    small = small_shop()
    job = quoted_job(small, correction(240))
    booking_make(job=job, member=small.desk, now=NOW)
    job_check_in(job=job, member=small.desk, now=NOW)
    bay = Hold.objects.get(job=job, resource=small.correction).end
    at = work(small, job, 1, NOW, 1)
    assert Hold.objects.get(job=job, resource=small.crew).end == at
    assert Hold.objects.get(job=job, resource=small.correction).end == bay
