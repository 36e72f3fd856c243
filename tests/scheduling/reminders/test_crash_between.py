"""A sender that dies between sending and recording leaves a question, never a second message."""

from datetime import timedelta

import pytest

from scheduling.models import ReminderState
from scheduling.notify import CARRIERS
from scheduling.services import reminders
from scheduling.services.reminders import CLAIM_LOST_AFTER, reminders_send_due
from tests.factories import NOW
from tests.scheduling.reminders.due import due_reminder, mails

pytestmark = pytest.mark.django_db


class Killed(BaseException):
    """The process ends here: nothing of ours runs after it."""


def test_sent_and_not_recorded_is_unknown_and_not_sent_again(monkeypatch):
    reminder = due_reminder()

    def die(*_args, **_changes):
        raise Killed

    with monkeypatch.context() as patched:
        patched.setattr(reminders, "_record", die)
        with pytest.raises(Killed):
            reminders_send_due(now=NOW)
    assert len(mails()) == 1
    # While the claim is young, somebody may still be sending.
    assert reminders_send_due(now=NOW + timedelta(minutes=1)).unknown == 0
    report = reminders_send_due(now=NOW + CLAIM_LOST_AFTER + timedelta(minutes=1))
    reminder.refresh_from_db()
    assert (report.unknown, report.sent) == (1, 0)
    assert reminder.state == ReminderState.UNKNOWN
    assert "stopped while sending" in reminder.error
    assert len(mails()) == 1


def test_an_error_nobody_foresaw_is_unknown_too(monkeypatch):
    reminder = due_reminder()

    def half_sent(_message):
        raise TimeoutError("no answer after the text was given")

    monkeypatch.setitem(CARRIERS, "mailbox", half_sent)
    assert reminders_send_due(now=NOW).unknown == 1
    reminder.refresh_from_db()
    assert reminder.state == ReminderState.UNKNOWN
    assert reminders_send_due(now=NOW + timedelta(days=1)).sent == 0


def test_a_claim_that_was_given_up_is_not_overwritten(monkeypatch):
    # We were so slow that a colleague marked the row as unknown meanwhile.
    reminder = due_reminder()

    def slow(_message):
        type(reminder).objects.filter(pk=reminder.pk).update(state=ReminderState.UNKNOWN)

    monkeypatch.setitem(CARRIERS, "mailbox", slow)
    reminders_send_due(now=NOW)
    reminder.refresh_from_db()
    assert reminder.state == ReminderState.UNKNOWN
