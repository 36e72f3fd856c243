"""Whether and where a message goes is decided by what the customer agreed to."""

import pytest

from scheduling.models import Reminder
from scheduling.services.bookings import booking_make
from shop.models import Channel, ConsentPurpose
from tests.factories import NOW, ConsentFactory
from tests.scheduling.shops import agrees, quoted_job, small_shop

pytestmark = pytest.mark.django_db


def booked(*, channels=(), **customer):
    small = small_shop()
    job = quoted_job(small, agree=False)
    type(job.customer).objects.filter(pk=job.customer_id).update(**customer)
    job.refresh_from_db()
    for channel in channels:
        agrees(job.customer, ConsentPurpose.VISIT, channel=channel)
    # From tomorrow on, so that the message of the evening before has its time.
    booking_make(job=job, member=small.desk, now=NOW, earliest=NOW.replace(day=4))
    return job


def channels_of(job):
    return set(Reminder.objects.filter(job=job).values_list("channel", flat=True))


def test_without_a_yes_nothing_is_written_and_the_story_says_so():
    job = booked()
    assert not Reminder.objects.exists()
    notes = list(job.events.filter(kind="reminder").values_list("why", flat=True))
    assert notes == [
        "No “Booking confirmed” message: the customer has not agreed to one.",
        "No “Day before drop-off” message: the customer has not agreed to one.",
        "No “Drop-off today” message: the customer has not agreed to one.",
    ]


def test_a_no_is_a_no():
    small = small_shop()
    job = quoted_job(small, agree=False)
    ConsentFactory(customer=job.customer, granted=False)
    booking_make(job=job, member=small.desk, now=NOW)
    assert not Reminder.objects.exists()


def test_e_mail_comes_before_text():
    assert channels_of(booked(channels=(Channel.TEXT, Channel.EMAIL))) == {Channel.EMAIL}


def test_text_where_that_is_all_they_agreed_to():
    assert channels_of(booked(channels=(Channel.TEXT,))) == {Channel.TEXT}


def test_an_agreed_channel_without_an_address_is_passed_over():
    job = booked(channels=(Channel.EMAIL, Channel.TEXT), email="")
    assert channels_of(job) == {Channel.TEXT}
