"""A person sends or stops one message; who and why stand in the story."""

import pytest

from scheduling.models import ReminderState
from scheduling.services.reminders import reminder_send_now, reminder_stop, reminders_send_due
from shop.refusals import Conflict, Refused
from tests.factories import NOW, FrontDeskFactory
from tests.scheduling.reminders.due import due_reminder, mails

pytestmark = pytest.mark.django_db


def desk_and(**changes):
    reminder = due_reminder(**changes)
    return FrontDeskFactory(shop=reminder.shop), reminder


@pytest.mark.parametrize("state", ["due", "failed", "unknown"])
def test_send_now(state):
    desk, reminder = desk_and(state=state)
    reminder_send_now(reminder=reminder, member=desk, now=NOW)
    assert reminder.state == ReminderState.SENT
    assert len(mails()) == 1
    assert reminder.job.events.get(kind="reminder").member == desk


@pytest.mark.parametrize("state", ["withdrawn", "expired"])
def test_what_is_over_is_not_sent(state):
    desk, reminder = desk_and(state=state)
    with pytest.raises(Refused, match="cannot be sent"):
        reminder_send_now(reminder=reminder, member=desk, now=NOW)
    assert mails() == []


def test_not_even_a_person_sends_without_consent():
    desk, reminder = desk_and(agree=False)
    with pytest.raises(Refused, match="has not agreed"):
        reminder_send_now(reminder=reminder, member=desk, now=NOW)


def test_one_on_its_way_is_neither_sent_nor_stopped():
    desk, reminder = desk_and(state="claimed")
    with pytest.raises(Conflict, match="being sent right now"):
        reminder_send_now(reminder=reminder, member=desk, now=NOW)
    with pytest.raises(Conflict, match="being sent right now"):
        reminder_stop(reminder=reminder, member=desk, now=NOW, why="Called them")
    assert mails() == []


def test_a_stopped_one_is_not_sent():
    desk, reminder = desk_and()
    reminder_stop(reminder=reminder, member=desk, now=NOW, why="Called them")
    assert reminder.state == ReminderState.WITHDRAWN
    assert reminder.why == f"{desk.name}: Called them"
    assert reminders_send_due(now=NOW).sent == 0
    with pytest.raises(Refused, match="withdrawn already"):
        reminder_stop(reminder=reminder, member=desk, now=NOW, why="Again")


def test_stopping_needs_a_reason():
    desk, reminder = desk_and()
    with pytest.raises(Refused) as refused:
        reminder_stop(reminder=reminder, member=desk, now=NOW, why="")
    assert "why" in refused.value.by_field()
