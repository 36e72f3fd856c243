"""What is due is sent once, by whoever claims it first."""

from datetime import timedelta

import pytest

from scheduling.models import ReminderState
from scheduling.notify import CARRIERS, NotifyError
from scheduling.services import reminders
from scheduling.services.reminders import reminders_send_due
from tests.factories import NOW
from tests.scheduling.reminders.due import due_reminder, mails

pytestmark = pytest.mark.django_db


def test_the_second_round_has_nothing_to_do():
    reminder = due_reminder()
    assert reminders_send_due(now=NOW).sent == 1
    assert reminders_send_due(now=NOW + timedelta(minutes=1)).sent == 0
    reminder.refresh_from_db()
    assert (reminder.state, reminder.sent_at, reminder.attempts) == (ReminderState.SENT, NOW, 1)
    assert len(mails()) == 1


def test_the_row_keeps_what_was_said_to_whom():
    reminder = due_reminder()
    reminders_send_due(now=NOW)
    reminder.refresh_from_db()
    assert reminder.recipient == reminder.customer.email
    assert reminder.subject == "Your visit on Tue 3 Mar 09:00"
    assert reminder.job.vehicle.description in reminder.body
    mail = mails()[0]
    assert mail["To"] == reminder.customer.email
    assert {part.get_content_type() for part in mail.walk()} >= {"text/plain", "text/html"}


def test_what_is_not_due_waits():
    reminder = due_reminder()
    assert reminders_send_due(now=NOW - timedelta(seconds=1)).sent == 0
    reminder.refresh_from_db()
    assert reminder.state == ReminderState.DUE


def test_two_senders_that_saw_the_same_row_send_it_once(monkeypatch):
    # The other sender's whole round runs between our look and our claim.
    due_reminder()
    real = reminders._claim
    seen: list[int] = []

    def other_first(reminder, state, carrier, now):
        if not seen:
            seen.append(reminder.pk)
            assert reminders_send_due(now=now).sent == 1
        return real(reminder, state, carrier, now)

    monkeypatch.setattr(reminders, "_claim", other_first)
    assert reminders_send_due(now=NOW).sent == 0
    assert len(mails()) == 1


def test_the_limit_is_kept_and_the_longest_due_goes_first():
    late, later = due_reminder(), due_reminder()
    later.due_at = NOW - timedelta(hours=1)
    later.save()
    assert reminders_send_due(now=NOW, limit=1).sent == 1
    late.refresh_from_db()
    later.refresh_from_db()
    assert (late.state, later.state) == (ReminderState.DUE, ReminderState.SENT)


def test_a_repeat_after_a_failure_carries_the_same_message_id(monkeypatch):
    reminder = due_reminder()
    tries = []

    def flaky(message):
        tries.append(message.key)
        if len(tries) == 1:
            raise NotifyError("busy", permanent=False)

    monkeypatch.setitem(CARRIERS, "mailbox", flaky)
    reminders_send_due(now=NOW)
    reminders_send_due(now=NOW + timedelta(hours=1))
    assert tries == [reminder.key, reminder.key]
