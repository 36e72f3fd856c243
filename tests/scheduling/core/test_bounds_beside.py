"""The bound found in a process beside the search: the same bound, and nothing stays behind."""

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from scheduling.core.bounds_beside import Beside, Given, beside
from scheduling.core.bounds_prices import PriceBound
from scheduling.core.check import check_plan
from scheduling.core.effort import Effort
from scheduling.core.freeindex import FreeIndex
from scheduling.core.insertion import week_resources
from scheduling.core.solve import solve
from tests.scheduling.core.weeks import random_week

ROOT = Path(__file__).resolve().parents[3]
MOST_SECONDS = 60.0
GIVEN: Given = (random_week(4, 1), 0.0, 0.0, 1)
ABANDONED = """
import os
from tests.scheduling.core.test_bounds_beside import GIVEN, Beside, until
running = Beside(GIVEN)
until(lambda: running.bound > 0)
print(running.process.pid, flush=True)
os._exit(0)
"""
OF_A_DAEMON = """
from multiprocessing import get_context
from tests.scheduling.core.test_bounds_beside import GIVEN, Beside, until
def work(found):
    running = Beside(GIVEN)
    until(lambda: running.bound > 0)
    running.close()
    found.send(running.bound)
mine, theirs = get_context("fork").Pipe()
get_context("fork").Process(target=work, args=(theirs,), daemon=True).start()
print(mine.recv())
"""


def until(what: Callable[[], bool]) -> None:
    end = time.monotonic() + MOST_SECONDS
    while not what():
        assert time.monotonic() < end, "too slow"
        time.sleep(0.02)


def gone(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return True
    # Who ended but is not yet waited for by the system's first process counts as ended.
    return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] == "Z"


def said_by(program: str) -> str:
    command = [sys.executable, "-c", program]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    return done.stdout.strip()


def test_tells_the_bound_that_prices_give_here() -> None:
    here = PriceBound(GIVEN[0], FreeIndex(week_resources(GIVEN[0])))
    wanted = max(here.improve() for _ in range(3))
    with beside(GIVEN) as running:
        assert running is not None
        until(lambda: running.bound >= wanted)
    assert running.process.returncode is not None


def test_ends_when_its_starter_is_gone() -> None:
    pid = int(said_by(ABANDONED))
    until(lambda: gone(pid))


def test_a_daemon_may_start_it() -> None:
    assert float(said_by(OF_A_DAEMON)) > 0


def test_a_search_of_two_workers_leaves_nothing_behind(monkeypatch: pytest.MonkeyPatch) -> None:
    started: list[Beside] = []
    begin = Beside.__init__

    def noted(self: Beside, given: Given) -> None:
        started.append(self)
        begin(self, given)

    monkeypatch.setattr(Beside, "__init__", noted)
    week = random_week(13, 1)
    plan = solve(week, Effort(seconds=8, workers=2), clock=time.monotonic)
    assert check_plan(week, plan) == []
    assert plan.bound == max(plan.bound or 0, started[0].bound)
    assert started[0].process.returncode is not None
    assert not started[0].at_work


def test_without_a_process_the_search_takes_turns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    with beside(GIVEN) as running:
        assert running is None
