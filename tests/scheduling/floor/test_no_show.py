"""A vehicle that did not come gives back its time, but not before its time."""

from datetime import timedelta

import pytest

from scheduling.models import Hold, Reminder, ReminderState
from scheduling.services.bookings import booking_make
from scheduling.services.floor import job_no_show
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


def test_before_its_time_it_is_refused():
    small, job = booked()
    with pytest.raises(Refused, match="expected Tue 3 Mar 09:00"):
        job_no_show(job=job, member=small.desk, now=TOMORROW - timedelta(minutes=1))
    assert Hold.objects.filter(job=job).exists()


def test_after_it_the_time_is_free_and_nothing_is_sent():
    small, job = booked()
    job_no_show(job=job, member=small.desk, now=TOMORROW + timedelta(hours=2))
    assert job.state == JobState.NO_SHOW
    assert not Hold.objects.filter(job=job).exists()
    assert not Reminder.objects.exclude(state=ReminderState.WITHDRAWN).exists()


def test_it_can_be_booked_again():
    small, job = booked()
    later = TOMORROW + timedelta(hours=2)
    job_no_show(job=job, member=small.desk, now=later)
    booking_make(job=job, member=small.desk, now=later, earliest=later + timedelta(days=1))
    assert job.state == JobState.BOOKED
