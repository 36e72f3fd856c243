"""The clock calls what is due, and one task that fails does not stop the others."""

import logging
from datetime import UTC, datetime, timedelta

import pytest
import time_machine

from shop.clock import LONGEST_SLEEP_SECONDS, Clock, Entry, entries_from

START = datetime(2026, 3, 2, 15, 0, tzinfo=UTC)
SCHEDULE = {
    "often": {"task": "rooms.often", "schedule": 10.0},
    "seldom": {"task": "rooms.seldom", "schedule": timedelta(minutes=5)},
}


def run(schedule: dict[str, dict[str, object]], seconds: int, failing: str = "") -> list[str]:
    """Let the clock tick each second; return the names called, in order."""
    called = []

    def call(entry: Entry) -> None:
        called.append(entry.name)
        if entry.name == failing:
            raise ValueError("no such customer")

    with time_machine.travel(START, tick=False) as now:
        clock = Clock(entries_from(schedule, started_at=START), call)
        for _ in range(seconds):
            now.shift(1)
            clock.tick(datetime.now(UTC))
    return called


def test_each_is_called_at_its_own_interval() -> None:
    called = run(SCHEDULE, seconds=301)
    assert called.count("often") == 30
    assert called.count("seldom") == 1


def test_nothing_is_called_before_its_time() -> None:
    assert run(SCHEDULE, seconds=9) == []


def test_a_failure_is_logged_and_the_rest_goes_on(caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.ERROR, logger="shop.clock"):
        called = run(SCHEDULE, seconds=301, failing="often")
    assert called.count("often") == 30
    assert called.count("seldom") == 1
    assert len(caplog.records) == 30
    assert "rooms.often" in caplog.text
    assert "no such customer" in caplog.text


def test_it_sleeps_until_the_next_entry_but_never_long() -> None:
    with time_machine.travel(START, tick=False):
        often = Clock(entries_from(SCHEDULE, started_at=START), lambda entry: None)
        assert often.tick(START) == pytest.approx(10.0, abs=0.1)
        seldom = entries_from({"seldom": SCHEDULE["seldom"]}, started_at=START)
        assert Clock(seldom, lambda entry: None).tick(START) == LONGEST_SLEEP_SECONDS
        assert Clock([], lambda entry: None).tick(START) == LONGEST_SLEEP_SECONDS


def test_a_system_clock_that_is_set_back_does_not_stop_it() -> None:
    called = []
    with time_machine.travel(START, tick=False) as now:
        clock = Clock(entries_from(SCHEDULE, started_at=START), lambda e: called.append(e.name))
        now.move_to(START - timedelta(hours=3))
        for _ in range(301):
            clock.tick(datetime.now(UTC))
            now.shift(1)
    assert (called.count("often"), called.count("seldom")) == (30, 1)


def test_one_that_is_set_on_calls_each_once() -> None:
    called = []
    with time_machine.travel(START, tick=False) as now:
        clock = Clock(entries_from(SCHEDULE, started_at=START), lambda e: called.append(e.name))
        now.move_to(START + timedelta(days=2))
        for _ in range(5):
            clock.tick(datetime.now(UTC))
    assert sorted(called) == ["often", "seldom"]
