"""Two clocks at once, and a clock that steps back and forth: each message goes out once.

Two beats give every task to the workers twice at the same time. Here eight threads with
connections of their own play those workers on one heap of due messages, while the hour
they are told jumps: an hour back, three on, as when a machine's clock is set or a laptop wakes.
"""

from __future__ import annotations

import threading
from collections import Counter
from datetime import datetime, timedelta
from unittest import mock

from django.db import connection
from django.utils import timezone

from scheduling.models import Reminder
from scheduling.notify import CARRIERS, Message
from scheduling.services.reminders import reminders_send_due
from tests.stress.due import awake_shop, booked_job, due_reminders
from tests.stress.report import StressReport

BEATS = 2
WORKERS = 4
HOUR = timedelta(hours=1)
STEPS = (0 * HOUR, -1 * HOUR, 3 * HOUR, -2 * HOUR, 0.5 * HOUR)
"""What the clock says beside the true time, one after the other."""


class Out:
    """Counts what goes out, from any thread."""

    def __init__(self) -> None:
        self.keys: Counter[str] = Counter()
        self.early = 0
        self._lock = threading.Lock()

    def carry(self, message: Message) -> None:
        """Take one message."""
        with self._lock:
            self.keys[message.key] += 1


def run(report: StressReport, short: bool) -> bool:
    """Let them all send at once; return whether each message went out once."""
    count = 60 if short else 3000
    now = timezone.now()
    job = booked_job(awake_shop(), now)
    due_reminders(job, (f"now/{n}" for n in range(count)), now)
    due_reminders(job, (f"later/{n}" for n in range(count // 3)), now + 2 * HOUR)
    out = Out()
    with mock.patch.dict(CARRIERS, {"mailbox": out.carry}):
        for step in STEPS:
            before = Counter(out.keys)
            _all_at_once(now + step)
            new = out.keys - before
            out.early += sum(key.startswith("later/") and step < 2 * HOUR for key in new)
    states = Counter(Reminder.objects.values_list("state", flat=True))
    twice = sum(n > 1 for n in out.keys.values())
    total = count + count // 3
    demands = [
        report.equal("sent by two clocks and eight workers", len(out.keys), total),
        report.equal("sent more than once", twice, 0),
        report.equal("sent before the clock said so", out.early, 0),
        report.equal("noted as sent", states["sent"], total),
        report.equal("in any other state", total - states["sent"], 0),
    ]
    return all(demands)


def _all_at_once(now: datetime) -> None:
    """Let every worker of every beat do rounds until nothing is left for this moment."""
    ready = threading.Barrier(BEATS * WORKERS)

    def work() -> None:
        try:
            ready.wait()
            while any(line.outcome == "sent" for line in _round(now)):
                pass
        finally:
            connection.close()

    threads = [threading.Thread(target=work) for _ in range(BEATS * WORKERS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def _round(now: datetime) -> list:
    return reminders_send_due(now=now, limit=50, channels=["email"]).lines
