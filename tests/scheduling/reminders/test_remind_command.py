"""``manage.py remind`` prints what was sent, once, and says by its status what went wrong."""

import io

import pytest
import time_machine
from django.core.management import CommandError, call_command

from scheduling.notify import CARRIERS, NotifyError
from scheduling.tasks import cures_update, send_email, send_text
from tests.factories import NOW
from tests.scheduling.reminders.due import due_reminder, mails

pytestmark = pytest.mark.django_db


def remind(*arguments: str) -> str:
    out = io.StringIO()
    with time_machine.travel(NOW, tick=False):
        call_command("remind", *arguments, stdout=out)
    return out.getvalue()


def test_run_twice_it_sends_once():
    reminder = due_reminder()
    said = remind()
    assert f"sent      {reminder.job.number}  Day before drop-off  email" in said
    assert said.endswith("1 sent\n")
    assert remind() == "Nothing is due.\n"
    assert len(mails()) == 1


def test_limit_and_way_are_taken(capsys):
    due_reminder()
    due_reminder()
    assert remind("--limit", "1", "--through", "console").endswith("1 sent\n")
    assert "Your visit on Tue 3 Mar 09:00" in capsys.readouterr().out
    assert mails() == []


@pytest.mark.parametrize(
    "arguments", [("--limit", "0"), ("--limit", "many"), ("--through", "pigeon")]
)
def test_a_wrong_argument_is_refused(arguments):
    with pytest.raises(CommandError):
        remind(*arguments)


def test_a_failure_is_status_1(monkeypatch):
    def refuse(_message):
        raise NotifyError("no such address", permanent=True)

    monkeypatch.setitem(CARRIERS, "mailbox", refuse)
    due_reminder()
    with pytest.raises(SystemExit) as ended:
        remind()
    assert ended.value.code == 1


def test_the_tasks_do_the_same_each_for_its_channel():
    due_reminder()
    due_reminder(channel="text")
    with time_machine.travel(NOW, tick=False):
        send_email.delay().get(disable_sync_subtasks=False)
        assert [mail["X-Channel"] for mail in mails()] == ["email"]
        send_text.delay().get(disable_sync_subtasks=False)
        cures_update.delay().get(disable_sync_subtasks=False)
    assert sorted(mail["X-Channel"] for mail in mails()) == ["email", "text"]
    assert remind() == "Nothing is due.\n"


def test_the_clock_knows_all_of_them(settings):
    entries = {entry["task"] for entry in settings.CELERY_BEAT_SCHEDULE.values()}
    assert {send_email.name, send_text.name, cures_update.name} <= entries
