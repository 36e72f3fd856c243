"""Reminders by what became of them; sent or stopped by hand, with what they say."""

import mailbox
from datetime import timedelta

from django.urls import reverse

from scheduling.models import ReminderState
from tests import factories as make
from tests.factories import NOW

LIST = reverse("reminders")


def test_tabs_count_and_show_their_own(world, desk, text) -> None:
    job = world.booked()
    due = make.ReminderFactory(job=job, why="Due one")
    make.ReminderFactory(job=job, state="sent", sent_at=NOW, why="Sent one")
    make.ReminderFactory(job=job, state="unknown", why="Lost one", error="Stopped half-way")
    make.ReminderFactory(job=job, state="withdrawn", why="Gone one")
    make.ReminderFactory(state="due", why="Another shop's")
    shown = {
        tab: text(desk.get(LIST, {"show": tab})) for tab in ("due", "sent", "trouble", "stopped")
    }
    for tab, why in zip(shown, ("Due one", "Sent one", "Lost one", "Gone one"), strict=True):
        assert [name for name in shown if why in shown[name]] == [tab]
    assert "Another shop" not in "".join(shown.values())
    assert 'Failed or unknown <span class="num count">1</span>' in shown["due"]
    # What needs a person is what opens.
    assert "Lost one" in text(desk.get(LIST))
    assert f'action="{reverse("reminder_send", args=[due.pk])}"' in shown["due"]
    assert "reminder_send" not in shown["sent"]


def test_a_preview_says_what_will_go_out(world, desk, text) -> None:
    reminder = world.booked(days=1).reminders.get(purpose="day_before")
    seen = text(desk.get(reverse("reminder_preview", args=[reminder.pk])))
    assert "pickup, crew cab, dark blue" in seen
    assert world.small.shop.name in seen
    assert "{" not in seen.split('class="letter"')[1]


def test_send_now_sends_once(world, desk, text, settings, tmp_path) -> None:
    settings.VAR_DIR = tmp_path
    reminder = world.booked(days=1).reminders.get(purpose="confirm")
    address = reverse("reminder_send", args=[reminder.pk])
    assert "was sent to" in text(desk.post(address, {"back": "due"}, follow=True))
    reminder.refresh_from_db()
    assert reminder.state == ReminderState.SENT
    again = desk.post(address)
    assert again.status_code == 400
    assert "It is sent and cannot be sent." in text(again)
    # Messages are kept in a folder of files unless the shop has set up a mail server.
    assert len(mailbox.Maildir(tmp_path / "mailbox")) == 1


def test_stopping_needs_a_reason(world, desk, text) -> None:
    reminder = world.booked(days=1).reminders.get(purpose="confirm")
    address = reverse("reminder_stop", args=[reminder.pk])
    bare = desk.post(address, {"back": "due"})
    assert bare.status_code == 400
    assert f'id="id_stop-{reminder.pk}-why_error"' in text(bare)
    done = desk.post(address, {"back": "due", f"stop-{reminder.pk}-why": "Told by phone"})
    assert done.status_code == 302
    reminder.refresh_from_db()
    assert reminder.state == ReminderState.WITHDRAWN
    assert "Told by phone" in text(desk.get(LIST, {"show": "stopped"}))


def test_each_empty_list_says_what_comes_there(world, desk, text) -> None:
    for tab, said in (
        ("due", "Nothing is due"),
        ("sent", "Nothing was sent yet"),
        ("trouble", "All is well"),
        ("stopped", "Nothing was stopped"),
    ):
        assert said in text(desk.get(LIST, {"show": tab}))


def test_a_long_list_says_how_many_more_there_are(world, desk, text) -> None:
    job = world.booked(days=1)
    written = job.reminders.count()
    for hours in range(51):
        make.ReminderFactory(job=job, due_at=NOW + timedelta(hours=hours))
    assert f"The first 50 of {51 + written} are shown." in text(desk.get(LIST, {"show": "due"}))
