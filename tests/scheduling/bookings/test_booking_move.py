"""A booking moves with all that hangs on it, and only while the vehicle is not here."""

from datetime import timedelta

import pytest

from scheduling.models import Hold, Reminder, ReminderPurpose, ReminderState
from scheduling.services.bookings import booking_make, booking_move
from scheduling.services.floor import job_check_in
from shop.models import JobState
from shop.refusals import Refused
from tests.factories import NOW
from tests.scheduling.shops import correction, quoted_job, small_shop

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def booked(**more):
    small = small_shop()
    job = quoted_job(small, correction(240))
    booking_make(job=job, member=small.desk, now=NOW, earliest=NOW + 2 * DAY, **more)
    return small, job


def test_holds_and_times_follow_and_the_event_has_both():
    small, job = booked()
    before = job.arrives_at
    booking_move(job=job, member=small.desk, now=NOW, earliest=NOW + 3 * DAY, why="Asked to")
    assert job.arrives_at >= NOW + 3 * DAY
    assert not Hold.objects.filter(job=job, start__lt=NOW + 3 * DAY).exists()
    assert job.operations.get().planned_start >= NOW + 3 * DAY
    event = job.events.get(kind="moved")
    assert (event.member, event.why) == (small.desk, "Asked to")
    assert event.details["before"]["arrives_at"] == before.isoformat()
    assert event.details["after"]["arrives_at"] == job.arrives_at.isoformat()
    assert event.details["before"]["holds"] != event.details["after"]["holds"]


def test_its_own_holds_are_not_in_its_way():
    small, job = booked()
    earlier = job.arrives_at - timedelta(hours=1)
    booking_move(job=job, member=small.desk, now=NOW, earliest=earlier)
    assert job.arrives_at == earlier


def test_messages_of_the_old_times_are_withdrawn_and_new_ones_written():
    small, job = booked()
    booking_move(job=job, member=small.desk, now=NOW, earliest=NOW + 3 * DAY)
    states = {
        purpose: sorted(
            Reminder.objects.filter(job=job, purpose=purpose).values_list("state", flat=True)
        )
        for purpose in (ReminderPurpose.CONFIRM, ReminderPurpose.DAY_BEFORE)
    }
    assert set(map(tuple, states.values())) == {(ReminderState.DUE, ReminderState.WITHDRAWN)}
    gone = Reminder.objects.filter(job=job, state=ReminderState.WITHDRAWN)[0]
    assert gone.why.startswith("Moved to Thu 5 Mar")


def test_a_vehicle_that_is_here_is_not_moved():
    small, job = booked()
    job_check_in(job=job, member=small.desk, now=job.arrives_at)
    held = list(Hold.objects.values_list("pk", "start"))
    with pytest.raises(Refused, match="is on site: the vehicle is here"):
        booking_move(job=job, member=small.desk, now=NOW, earliest=NOW + 3 * DAY)
    assert list(Hold.objects.values_list("pk", "start")) == held


def test_a_quoted_job_has_nothing_to_move():
    small = small_shop()
    job = quoted_job(small)
    with pytest.raises(Refused, match="there is no booking to move"):
        booking_move(job=job, member=small.desk, now=NOW, earliest=NOW + DAY)
    assert job.state == JobState.QUOTED
