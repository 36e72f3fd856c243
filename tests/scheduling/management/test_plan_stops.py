"""A search ends at Ctrl-C or a key and keeps the best found so far."""

import json
import os
import pty
import signal
import subprocess
import sys
import termios
from collections.abc import Iterator
from pathlib import Path
from threading import Event, Thread
from typing import IO

import pytest
from django.conf import settings

from scheduling.core.check import check_plan
from scheduling.core.formats import read_plan, week_to_data
from scheduling.management.keys import key_pressed
from tests.scheduling.core.weeks import random_week
from tests.scheduling.management.running import run

# Far from proven in the minute and a half that each search is given.
WEEK = random_week(20, 1)


def command(folder: Path) -> list[str]:
    week = folder / "week.json"
    week.write_text(json.dumps(week_to_data(WEEK)), encoding="utf-8")
    return ["plan", str(week), "--seconds", "90", "--json", str(folder / "plan.json")]


def holds(folder: Path) -> bool:
    plan = read_plan((folder / "plan.json").read_text(encoding="utf-8"))
    return check_plan(WEEK, plan) == []


def wait_for_improvement(progress: IO[str]) -> None:
    """Wait until the search is well under way."""
    for line in progress:
        if "improve" in line:
            return
    pytest.fail("the search ended by itself")


def test_an_interrupt_in_a_process_of_its_own(tmp_path: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "manage.py", *command(tmp_path), "--progress"],
        cwd=settings.BASE_DIR,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stderr is not None
        wait_for_improvement(process.stderr)
        process.send_signal(signal.SIGINT)
        try:
            out, err = process.communicate(timeout=80)
        except subprocess.TimeoutExpired:
            process.kill()
            raise
    assert process.returncode == 0, err
    assert "Stopped by hand" in out
    assert holds(tmp_path)


@pytest.fixture
def keyboard(monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    """Yield where to type; standard input is a terminal that this process may listen to."""
    typed, terminal = pty.openpty()
    with os.fdopen(terminal) as stdin:
        monkeypatch.setattr(sys, "stdin", stdin)
        monkeypatch.setattr(os, "tcgetpgrp", lambda _: os.getpgrp())
        yield typed
    os.close(typed)


def test_a_key_ends_the_search(keyboard: int, tmp_path: Path) -> None:
    done = Event()

    def type_often() -> None:  # what is typed before the search listens is not heard
        while not done.wait(0.5):
            os.write(keyboard, b"q")

    typist = Thread(target=type_often)
    typist.start()
    ended = run(*command(tmp_path))
    done.set()
    typist.join()
    assert ended.status == 0
    assert "Stopped by hand" in ended.out
    assert holds(tmp_path)


def test_a_key_is_heard_without_enter_and_the_terminal_left_as_it_was(keyboard: int) -> None:
    before = termios.tcgetattr(sys.stdin)
    with key_pressed() as pressed:
        assert not pressed()
        os.write(keyboard, b"x")
        assert pressed()
        assert not pressed()
    assert termios.tcgetattr(sys.stdin) == before


def test_in_the_background_the_terminal_is_not_touched(
    keyboard: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "tcgetpgrp", lambda _: os.getpgrp() + 1)
    before = termios.tcgetattr(sys.stdin)
    os.write(keyboard, b"x\n")
    with key_pressed() as pressed:
        assert termios.tcgetattr(sys.stdin) == before
        assert not pressed()
