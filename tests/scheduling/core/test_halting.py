"""A solve that would go on for long ends soon after it is told to."""

import threading
import time

from scheduling.core.check import check_plan
from scheduling.core.solve import Effort, Progress, solve
from tests.scheduling.core.weeks import random_week


def test_stops_inside_a_long_solve() -> None:
    week = random_week(10, 1)
    told = threading.Event()

    def progress(step: Progress) -> None:
        # What comes next is the whole model, which may take a fifth of the time given.
        if step.phase == "bound":
            threading.Timer(0.5, told.set).start()

    began = time.monotonic()
    plan = solve(
        week, Effort(seconds=300), clock=time.monotonic, progress=progress, stop=told.is_set
    )
    assert told.is_set()
    assert time.monotonic() - began < 30
    assert check_plan(week, plan) == []
