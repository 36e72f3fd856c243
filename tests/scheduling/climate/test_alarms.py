"""A climate that breaks the limits of a coat in hand is told at once, and taken back."""

from datetime import timedelta

import pytest

from scheduling.models import Reminder, ReminderPurpose, ReminderState
from scheduling.services.bookings import booking_make
from scheduling.services.climate import climate_log
from scheduling.services.floor import job_check_in, work_start
from tests.factories import NOW
from tests.scheduling.shops import coat, quoted_job, small_shop

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)


def coating():
    small = small_shop()
    job = quoted_job(small, coat())
    booking_make(job=job, member=small.desk, now=NOW)
    job_check_in(job=job, member=small.desk, now=NOW)
    return small, job


def log(small, minutes, humidity):
    return climate_log(
        resource=small.coating,
        at=NOW + minutes * MINUTE,
        air_c=20,
        humidity_percent=humidity,
        surface_c=20,
    )


def alarms():
    return Reminder.objects.filter(purpose=ReminderPurpose.CLIMATE_ALARM)


def test_damp_air_is_told_to_who_is_planned_once_an_hour():
    small, job = coating()
    for minutes in (1, 5, 20):
        log(small, minutes, 95)
    row = alarms().get()
    assert (row.member, row.job, row.due_at) == (small.tech, job, NOW + MINUTE)
    assert "95 %" in row.facts["what"]


def test_dry_air_again_withdraws_it():
    small, _job = coating()
    log(small, 1, 95)
    log(small, 5, 50)
    assert alarms().get().state == ReminderState.WITHDRAWN


def test_without_a_coat_nobody_is_told():
    log(small_shop(), 1, 95)
    assert not alarms().exists()


def test_a_coat_begun_all_the_same_stands_in_the_story():
    small, job = coating()
    log(small, 1, 95)
    work_start(operation=job.operations.get(), member=small.tech, now=NOW + 2 * MINUTE)
    assert "95 %" in job.events.get(kind="climate").why
