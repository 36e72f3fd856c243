"""Runs the periodic tasks of the settings from one process, with or without a broker.

A shop with one machine needs no queue: :class:`Clock` reads the same entries as
Celery beat and calls each task when it is due.  Without a broker the task runs
right here; with one it is handed to a worker.
"""

import logging
import threading
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime
from typing import Any, cast

from celery.beat import Scheduler
from celery.schedules import BaseSchedule, maybe_schedule

logger = logging.getLogger(__name__)

# The longest sleep, so that a changed system clock is noticed within a minute.
LONGEST_SLEEP_SECONDS = 60.0
# The shortest, so that an entry which is always due cannot keep a core busy.
SHORTEST_SLEEP_SECONDS = 0.05


@dataclass
class Entry:
    """One periodic task: its name, when it last ran, and how it is called."""

    name: str
    task: str
    schedule: BaseSchedule
    arguments: tuple[Any, ...]
    keywords: Mapping[str, Any]
    last_run_at: datetime


def entries_from(settings: Mapping[str, Mapping[str, Any]], started_at: datetime) -> list[Entry]:
    """Return the entries of a ``CELERY_BEAT_SCHEDULE``.

    Parameters
    ----------
    settings
        Entry name to ``{"task", "schedule"}`` and optionally ``"args"``,
        ``"kwargs"``; the schedule in seconds, a ``timedelta`` or a Celery one.
    started_at
        Aware UTC instant from which the first interval counts.
    """
    return [
        Entry(
            name=name,
            task=entry["task"],
            # Its annotation also allows what it turns into a schedule.
            schedule=cast("BaseSchedule", maybe_schedule(entry["schedule"])),
            arguments=tuple(entry.get("args", ())),
            keywords=entry.get("kwargs", {}),
            last_run_at=started_at,
        )
        for name, entry in settings.items()
    ]


class Clock:
    """Calls what is due; a task that fails is logged and does not stop the others.

    Parameters
    ----------
    entries
        What to run, see :func:`entries_from`.
    call
        Runs one entry and raises where it failed.
    """

    def __init__(self, entries: list[Entry], call: Callable[[Entry], None]) -> None:
        self._entries = entries
        self._call = call

    def tick(self, now: datetime) -> float:
        """Run every entry that is due at ``now``; return seconds until the next one."""
        sleep_seconds = LONGEST_SLEEP_SECONDS
        for entry in self._entries:
            # The system clock was set back: by the old time nothing would be due until the
            # new one has caught up with it.
            entry.last_run_at = min(entry.last_run_at, now)
            due, next_seconds = entry.schedule.is_due(entry.last_run_at)
            if due:
                entry.last_run_at = now
                self._run(entry)
            sleep_seconds = min(sleep_seconds, next_seconds)
        return max(sleep_seconds, SHORTEST_SLEEP_SECONDS)

    def _run(self, entry: Entry) -> None:
        try:
            self._call(entry)
        except Exception as error:  # noqa: BLE001 -- whatever a task raises, the next is still due
            # No traceback here: Celery has logged the one of the task itself.
            logger.error("The periodic task %s (%s) failed: %r", entry.name, entry.task, error)  # noqa: TRY400


class SteadyScheduler(Scheduler):
    """Celery beat's own, which also goes on when the system clock is set back.

    It keeps when each entry ran last in memory alone: two beats on one machine would fight
    for a file, and what an entry has to do stands in rows.
    """

    def tick(self, *args: Any, **kwargs: Any) -> float:
        """Run what is due; return seconds until the next look."""
        now = self.app.now()
        entries = self.schedule.values()
        ahead = [entry for entry in entries if entry.last_run_at and entry.last_run_at > now]
        for entry in ahead:
            entry.last_run_at = now
        if ahead:
            # Its order of what comes next was made with the old time.
            self._heap = None
        seconds: float = super().tick(*args, **kwargs)
        return seconds


class Lanes:
    """One thread for each lane: what takes long in one holds up nothing in another.

    Within a lane one call follows the other. A call whose like still waits or runs is left
    out: it would only find nothing to do.
    """

    def __init__(self) -> None:
        self._busy: set[str] = set()
        self._lock = threading.Lock()
        self._pools: dict[str, ThreadPoolExecutor] = {}

    def start(self, lane: str, name: str, work: Callable[[], None]) -> bool:
        """Let the lane do a piece of work; return False where its like is not done yet."""
        with self._lock:
            if name in self._busy:
                return False
            self._busy.add(name)
        pool = self._pools.get(lane)
        if pool is None:
            pool = self._pools[lane] = ThreadPoolExecutor(1, thread_name_prefix=lane)
        pool.submit(self._do, name, work)
        return True

    def stop(self, *, waiting_too: bool = False) -> None:
        """Let what runs come to its end; what still waits is only done where that is said."""
        for pool in self._pools.values():
            pool.shutdown(cancel_futures=not waiting_too)

    def _do(self, name: str, work: Callable[[], None]) -> None:
        try:
            work()
        except Exception as error:  # noqa: BLE001 -- whatever it raises, the next is still due
            logger.error("The periodic task %s failed: %r", name, error)  # noqa: TRY400
        finally:
            with self._lock:
                self._busy.discard(name)
