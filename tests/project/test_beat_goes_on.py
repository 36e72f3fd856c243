"""Celery beat hands out what is due also after the system clock was set back."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from celery import Celery
from celery.beat import ScheduleEntry, Scheduler

from shop.clock import SteadyScheduler

START = datetime(2026, 3, 2, 15, 0, tzinfo=UTC)


def handed_out(kind: type[Scheduler]) -> list[str]:
    """Start a beat, set the clock back three hours, and let five minutes pass."""
    names: list[str] = []

    class Noting(kind):  # type: ignore[misc, valid-type]
        def apply_entry(self, entry: ScheduleEntry, producer: object = None) -> None:
            names.append(str(entry.task))

        @property
        def producer(self) -> None:
            return None

    app = Celery("test", set_as_current=False)
    app.conf.update(
        timezone="UTC",
        beat_schedule={
            "often": {"task": "often", "schedule": 60.0},
            "seldom": {"task": "seldom", "schedule": 150.0},
        },
    )
    with time_machine.travel(START, tick=False) as now:
        beat = Noting(app=app)
        beat.tick()
        now.move_to(START - timedelta(hours=3))
        for _ in range(301):
            while not beat.tick():
                pass
            now.shift(1)
    return names


@pytest.mark.parametrize(("kind", "often", "seldom"), [(SteadyScheduler, 5, 2), (Scheduler, 0, 0)])
def test_set_back_three_hours(kind: type[Scheduler], often: int, seldom: int) -> None:
    # Celery's own waits for three hours, which is why there is another.
    names = handed_out(kind)
    assert (names.count("often"), names.count("seldom")) == (often, seldom)
