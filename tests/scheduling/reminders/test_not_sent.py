"""What must not go out does not: too late, not agreed to, no longer true, at night."""

from datetime import UTC, datetime, timedelta

import pytest

from scheduling.models import ReminderState
from scheduling.services.reminders import reminders_send_due
from shop.models import Job, JobState
from tests.factories import NOW
from tests.scheduling.reminders.due import due_reminder, mails

pytestmark = pytest.mark.django_db


def after_a_round(reminder, now=NOW):
    reminders_send_due(now=now)
    reminder.refresh_from_db()
    assert mails() == []
    return reminder.state


def test_one_that_is_too_late_expires_with_a_note():
    reminder = due_reminder(expires_at=NOW + timedelta(hours=1))
    assert after_a_round(reminder, NOW + timedelta(hours=1)) == ReminderState.EXPIRED
    assert reminder.why == "Not sent: its time had passed when the sender came to it."


def test_consent_that_was_taken_back_counts():
    reminder = due_reminder()
    reminder.customer.consents.update(granted=False)
    assert after_a_round(reminder) == ReminderState.WITHDRAWN
    assert "has not agreed" in reminder.why


def test_consent_to_another_purpose_does_not_count():
    reminder = due_reminder()
    reminder.customer.consents.filter(purpose="visit").delete()
    assert after_a_round(reminder) == ReminderState.WITHDRAWN


def test_a_job_that_went_on_makes_it_untrue():
    reminder = due_reminder()
    Job.objects.filter(reminders=reminder).update(state=JobState.CANCELLED)
    assert after_a_round(reminder) == ReminderState.WITHDRAWN
    assert reminder.why == "Not sent: the job is cancelled."


def test_at_night_it_waits_for_the_morning_of_the_customer():
    # 23:00 in Chicago; the customer lives in New York, where 08:00 comes an hour earlier.
    reminder = due_reminder()
    reminder.customer.zone = "America/New_York"
    reminder.customer.save()
    night = datetime(2026, 3, 3, 5, 0, tzinfo=UTC)
    assert after_a_round(reminder, night) == ReminderState.DUE
    assert reminder.due_at == datetime(2026, 3, 3, 13, 0, tzinfo=UTC)


def test_at_night_before_it_expires_it_expires():
    night = datetime(2026, 3, 3, 5, 0, tzinfo=UTC)
    reminder = due_reminder(expires_at=night + timedelta(hours=1))
    assert after_a_round(reminder, night) == ReminderState.EXPIRED
    assert "quiet hours" in reminder.why
