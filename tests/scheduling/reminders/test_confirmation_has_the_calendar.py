"""The e-mail that confirms a visit names its calendar, where the site has a public address."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from scheduling.models import CalendarFeed, ReminderPurpose
from scheduling.services.bookings import booking_make
from scheduling.services.wording import message_write
from tests.factories import NOW
from tests.scheduling.shops import quoted_job, small_shop

pytestmark = pytest.mark.django_db


def booked():
    small = small_shop()
    job = quoted_job(small)
    earliest = NOW + timedelta(days=2)
    return booking_make(job=job, member=small.desk, now=NOW, earliest=earliest)


def said(job, purpose):
    return message_write(job.reminders.get(purpose=purpose)).text


def addresses(text):
    return re.findall(r"https://shop\.example(/feeds/\S+\.ics)", text)


def test_the_address_opens_the_visit_and_is_the_same_each_time(settings):
    settings.PUBLIC_URL = "https://shop.example"
    job = booked()
    (address,) = addresses(said(job, ReminderPurpose.CONFIRM))
    assert addresses(said(job, ReminderPurpose.CONFIRM)) == [address]
    with time_machine.travel(NOW, tick=False):
        assert Client().get(address).content.count(b"BEGIN:VEVENT") == 2
    assert addresses(said(job, ReminderPurpose.DAY_BEFORE)) == []


def test_with_another_secret_key_no_dead_address_is_sent(settings):
    settings.PUBLIC_URL = "https://shop.example"
    job = booked()
    settings.SECRET_KEY = "another key, as after moving to another machine, long enough"
    assert addresses(said(job, ReminderPurpose.CONFIRM)) == []


def test_without_a_public_address_there_is_neither_line_nor_feed(settings):
    settings.PUBLIC_URL = ""
    job = booked()
    assert ".ics" not in said(job, ReminderPurpose.CONFIRM)
    assert not CalendarFeed.objects.exists()
