"""A sender that dies between sending and recording leaves a question, never a second message."""

import os
import socket
from datetime import timedelta

import pytest
from django.db import OperationalError

from scheduling.models import ReminderState
from scheduling.notify import CARRIERS
from scheduling.services import reminders
from scheduling.services.reminders import (
    CLAIM_LOST_AFTER,
    RECORD_TRIES,
    reminders_send_due,
)
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


def test_what_is_known_of_it_is_said(monkeypatch):
    reminder = due_reminder()

    def die(_message):
        raise Killed

    monkeypatch.setitem(CARRIERS, "mailbox", die)
    with pytest.raises(Killed):
        reminders_send_due(now=NOW)
    reminders_send_due(now=NOW + timedelta(hours=1))
    reminder.refresh_from_db()
    me = f"{socket.gethostname()[:60]}/{os.getpid()}"
    assert (reminder.carrier, reminder.claimed_by, reminder.claimed_at) == ("mailbox", me, NOW)
    # 15:00 UTC is 09:00 in the shop's zone.
    known = f"(try 1, taken up Mon 2 Mar 09:00 by {me}, through mailbox)"
    assert known in reminder.error


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


def test_an_outcome_is_written_again_where_the_line_to_the_database_broke(monkeypatch):
    reminder = due_reminder()
    real = reminders._record_once
    breaks: list[int] = []

    def broken(row, changes):
        if len(breaks) < RECORD_TRIES - 1:
            breaks.append(row.pk)
            raise OperationalError("the server closed the connection")
        real(row, changes)

    # The test itself runs in a transaction, which a real break would end.
    monkeypatch.setattr(reminders, "connection", Line())
    monkeypatch.setattr(reminders, "_record_once", broken)
    monkeypatch.setattr(reminders, "RECORD_WAIT_SECONDS", 0)
    assert reminders_send_due(now=NOW).sent == 1
    reminder.refresh_from_db()
    assert (reminder.state, len(breaks), len(mails())) == (ReminderState.SENT, 2, 1)


def test_an_outcome_that_was_written_before_the_line_broke_is_no_lost_claim(caplog):
    reminder = due_reminder()
    assert reminders_send_due(now=NOW).sent == 1
    reminder.refresh_from_db()
    reminders._record(reminder, state=ReminderState.SENT, sent_at=NOW)
    assert "lost its claim" not in caplog.text
    reminders._record(reminder, state=ReminderState.UNKNOWN)
    assert "lost its claim" in caplog.text


class Line:
    """A connection to the database that may be closed."""

    in_atomic_block = False

    def close(self):
        pass
