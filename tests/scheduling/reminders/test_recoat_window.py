"""The window for the next layer is told to who coats, and no longer once it was begun."""

from datetime import timedelta

import pytest

from scheduling.models import Reminder, ReminderPurpose, ReminderState
from scheduling.services.bookings import booking_make
from scheduling.services.floor import job_check_in, work_finish, work_start
from tests.factories import NOW
from tests.scheduling.shops import coat, quoted_job, small_shop

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)


def first_layer_done():
    small = small_shop()
    layers = coat(), coat() | {"lag_min_minutes": 60, "lag_max_minutes": 240}
    job = quoted_job(small, *layers)
    booking_make(job=job, member=small.desk, now=NOW)
    job_check_in(job=job, member=small.desk, now=NOW)
    first, second = job.operations.order_by("sequence")
    work_start(operation=first, member=small.tech, now=NOW)
    work_finish(operation=first, member=small.tech, now=NOW + 30 * MINUTE)
    return small, second


def test_it_opens_and_is_about_to_close():
    small, _second = first_layer_done()
    rows = {row.purpose: row for row in Reminder.objects.filter(member=small.tech)}
    done = NOW + 30 * MINUTE
    assert rows[ReminderPurpose.RECOAT_OPEN].due_at == done + 60 * MINUTE
    closing = rows[ReminderPurpose.RECOAT_CLOSING]
    assert closing.due_at == done + 210 * MINUTE
    assert closing.expires_at == done + 240 * MINUTE


def test_the_next_layer_withdraws_both():
    small, second = first_layer_done()
    work_start(operation=second, member=small.tech, now=NOW + 95 * MINUTE)
    rows = Reminder.objects.filter(member=small.tech)
    assert {row.state for row in rows} == {ReminderState.WITHDRAWN}
