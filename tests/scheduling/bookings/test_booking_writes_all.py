"""A booking writes holds, times, state, event and messages, or none of them."""

import pytest

from scheduling.models import Hold, Reminder, ReminderPurpose, ReminderState
from scheduling.services import bookings
from scheduling.services.bookings import booking_make
from scheduling.services.offers import offers_find
from shop.models import JobState
from shop.refusals import Refused
from tests.factories import NOW
from tests.scheduling.shops import correction, quoted_job, small_shop, wash

pytestmark = pytest.mark.django_db


def first_offer(small, job):
    operations = list(job.operations.all())
    return offers_find(shop=small.shop, operations=operations, earliest=NOW, now=NOW).found[1]


def test_everything_an_offer_says_is_written():
    small = small_shop()
    job = quoted_job(small, wash(), correction(300))
    offer = first_offer(small, job)
    booking_make(job=job, member=small.desk, now=NOW, offer=offer)
    assert job.state == JobState.BOOKED
    assert (job.arrives_at, job.ready_at) == (offer.arrives_at, offer.ready_at)
    assert (job.promised_at, job.promise_probability) == (
        offer.promised_at,
        offer.promise_probability,
    )
    planned = job.operations.values_list("sequence", "planned_start", "planned_end")
    assert list(planned) == [(step.sequence, step.start, step.end) for step in offer.steps]
    written = Hold.objects.filter(job=job).values_list("resource", "start", "end")
    assert sorted(written) == sorted((held.resource.pk, *held[1:3]) for held in offer.holds)


def test_the_event_says_who_and_what_was_kept():
    small = small_shop()
    job = quoted_job(small)
    booking_make(job=job, member=small.desk, now=NOW)
    event = job.events.get(to_state=JobState.BOOKED)
    assert (event.member, event.at, event.from_state) == (small.desk, NOW, JobState.QUOTED)
    kept = {row["resource"] for row in event.details["after"]["holds"]}
    assert {small.correction.name, small.crew.name} <= kept


def test_confirmation_now_and_a_message_the_evening_before():
    small = small_shop()
    job = quoted_job(small)
    booking_make(job=job, member=small.desk, now=NOW, offer=first_offer(small, job))
    rows = {row.purpose: row for row in Reminder.objects.filter(job=job)}
    assert set(rows) == {ReminderPurpose.CONFIRM, ReminderPurpose.DAY_BEFORE}
    assert all(row.state == ReminderState.DUE for row in rows.values())
    assert rows[ReminderPurpose.CONFIRM].due_at == NOW
    # 18:00 in Chicago on the Monday before the Tuesday.
    assert rows[ReminderPurpose.DAY_BEFORE].due_at.isoformat() == "2026-03-03T00:00:00+00:00"


def test_a_failure_at_the_end_leaves_nothing_behind(monkeypatch):
    small = small_shop()
    job = quoted_job(small)

    def fail(**_given):
        raise RuntimeError("the last step failed")

    monkeypatch.setattr(bookings, "booking_reminders_write", fail)
    with pytest.raises(RuntimeError, match="last step"):
        booking_make(job=job, member=small.desk, now=NOW)
    job.refresh_from_db()
    assert (job.state, job.arrives_at) == (JobState.QUOTED, None)
    assert not Hold.objects.exists()
    assert not job.operations.filter(planned_start__isnull=False).exists()
    assert not job.events.exists()


def test_booking_twice_is_refused():
    small = small_shop()
    job = quoted_job(small)
    booking_make(job=job, member=small.desk, now=NOW)
    with pytest.raises(Refused, match="only a quoted job can be booked"):
        booking_make(job=job, member=small.desk, now=NOW)
    assert Hold.objects.filter(resource=small.correction).count() == 1
