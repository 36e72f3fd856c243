"""In the clock of ``make run`` a mail server that stalls holds up no text message."""

import threading

from django.conf import settings

from shop.clock import Lanes, entries_from
from shop.management.commands.clock import lane_of
from tests.factories import NOW

SOON = 5.0


def _wait(event: threading.Event) -> None:
    event.wait(4 * SOON)


def test_a_lane_that_stalls_holds_up_no_other() -> None:
    lanes, answer, sent = Lanes(), threading.Event(), threading.Event()
    assert lanes.start("email", "send e-mails", lambda: _wait(answer))
    assert lanes.start("text", "send texts", sent.set)
    assert sent.wait(SOON)
    assert not answer.is_set()
    answer.set()
    lanes.stop()


def test_within_a_lane_one_follows_the_other_and_a_like_is_left_out() -> None:
    lanes, go, done = Lanes(), threading.Event(), []

    def first() -> None:
        go.wait(SOON)
        done.append("first")

    assert lanes.start("clock", "first", first)
    assert not lanes.start("clock", "first", first)
    assert lanes.start("clock", "second", lambda: done.append("second"))
    assert done == []
    go.set()
    lanes.stop(waiting_too=True)
    assert done == ["first", "second"]


def test_one_that_fails_is_called_again_the_next_time(caplog) -> None:
    lanes, again = Lanes(), threading.Event()
    failed = threading.Event()

    def fail() -> None:
        failed.set()
        raise ValueError("no such customer")

    lanes.start("clock", "fails", fail)
    assert failed.wait(SOON)
    while not lanes.start("clock", "fails", again.set):
        pass
    assert again.wait(SOON)
    lanes.stop()
    assert "no such customer" in caplog.text


def test_each_kind_of_message_has_a_lane_of_its_own() -> None:
    entries = entries_from(settings.CELERY_BEAT_SCHEDULE, started_at=NOW)
    lanes = {entry.task: lane_of(entry) for entry in entries}
    assert lanes["scheduling.send_text"] == "text"
    assert lanes["scheduling.send_email"] == "email"
    assert "text" not in [lane for task, lane in lanes.items() if task != "scheduling.send_text"]
