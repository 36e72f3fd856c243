"""A failure is tried again with growing waits, and not for ever."""

from datetime import timedelta

import pytest

from scheduling.models import CalendarPolicy, ReminderState
from scheduling.notify import CARRIERS, NotifyError
from scheduling.services.reminders import reminders_send_due
from scheduling.services.retry import wait_before_next
from shop.stopping import stopping
from tests.factories import NOW
from tests.scheduling.reminders.due import due_reminder

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)


@pytest.fixture
def refusing(monkeypatch):
    """Let the mailbox refuse; return how: change ``permanent`` and read ``calls``."""

    class Carrier:
        permanent = False
        calls = 0
        only = ""

    def send(message):
        if Carrier.only and message.channel != Carrier.only:
            return
        Carrier.calls += 1
        raise NotifyError("refused", permanent=Carrier.permanent)

    monkeypatch.setitem(CARRIERS, "mailbox", send)
    return Carrier


def test_waits_grow_and_end(refusing):
    # printf 'steady#1' | sha256sum begins with the first of these eight digits, and so on.
    reminder = due_reminder(key="steady")
    CalendarPolicy.objects.create(shop=reminder.shop, send_tries=4)
    waits, now = [], NOW
    for _try in range(3):
        assert reminders_send_due(now=now).retried == 1
        reminder.refresh_from_db()
        waits.append((reminder.due_at - now) / MINUTE)
        now = reminder.due_at
    assert waits == pytest.approx(
        [
            2 * (1 + 0.25 * 0x063A5318 / 2**32),
            8 * (1 + 0.25 * 0xE4DB381C / 2**32),
            32 * (1 + 0.25 * 0xE2CFE115 / 2**32),
        ]
    )
    assert reminders_send_due(now=now).failed == 1
    reminder.refresh_from_db()
    assert (reminder.state, reminder.error) == (ReminderState.FAILED, "refused")
    assert reminders_send_due(now=now + timedelta(days=1)).lines == []


def test_what_failed_together_is_not_tried_again_together():
    waits = [wait_before_next(f"confirm/{number}", 1) for number in range(200)]
    assert 2 * MINUTE <= min(waits) < 2.05 * MINUTE
    assert 2.45 * MINUTE < max(waits) < 2.5 * MINUTE
    assert len(set(waits)) == 200


def test_a_wrong_address_is_not_tried_again(refusing):
    refusing.permanent = True
    reminder = due_reminder()
    assert reminders_send_due(now=NOW).failed == 1
    reminder.refresh_from_db()
    assert (reminder.state, reminder.attempts) == (ReminderState.FAILED, 1)


def test_a_next_try_that_would_be_too_late_is_not_made(refusing):
    reminder = due_reminder(expires_at=NOW + MINUTE)
    assert reminders_send_due(now=NOW).expired == 1
    reminder.refresh_from_db()
    assert reminder.state == ReminderState.EXPIRED
    assert "next try would have come too late" in reminder.why


def test_a_dead_carrier_is_left_alone_and_does_not_hold_up_another(refusing):
    rows = [due_reminder() for _ in range(5)]
    report = reminders_send_due(now=NOW)
    assert refusing.calls == 3
    assert report.retried == 3
    untouched = [row for row in rows if type(row).objects.get(pk=row.pk).attempts == 0]
    assert len(untouched) == 2
    assert reminders_send_due(now=NOW, through="console").sent == 2


def test_what_waits_for_a_dead_carrier_does_not_stand_before_another_channel(refusing):
    for _ in range(5):
        due_reminder(expires_at=None)
    text = due_reminder(channel="text")
    refusing.only = "email"
    report = reminders_send_due(now=NOW, limit=4)
    assert (report.retried, report.sent) == (3, 1)
    text.refresh_from_db()
    assert text.state == ReminderState.SENT


def test_a_round_takes_nothing_up_after_its_time():
    due_reminder()
    assert reminders_send_due(now=NOW, within=timedelta(0)).lines == []
    assert reminders_send_due(now=NOW, within=MINUTE).sent == 1


def test_a_process_that_was_told_to_end_takes_nothing_up():
    due_reminder()
    stopping.set()
    try:
        assert reminders_send_due(now=NOW).lines == []
    finally:
        stopping.clear()
    assert reminders_send_due(now=NOW).sent == 1
