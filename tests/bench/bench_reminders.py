"""Messages a second with 1, 2 and 4 workers, and finding what is due among a million rows.

Needs PostgreSQL; makes a database of its own and drops it. The workers are processes of
their own that send to an SMTP server of this one, which takes part of the processor: on
few cores it is the server and the database that are measured beside the workers.
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import psycopg

from tests import reachable
from tests.bench.report import Report
from tests.mailserver import Sink, listening
from tests.stress.database import database

ROOT = Path(__file__).resolve().parents[2]
ROWS = 1_000_000
DUE = 800
MESSAGES = 200
TARGET_MS = 10.0
_PREPARE = f"""
import django; django.setup()
from django.utils import timezone
from tests.stress.due import awake_shop, booked_job, due_reminders
now = timezone.now()
due_reminders(booked_job(awake_shop(), now), (f"bench/{{n}}" for n in range({MESSAGES})), now)
"""
_WORK = """
import sys, django; django.setup()
from django.utils import timezone
from scheduling.services.reminders import reminders_send_due
print("ready", flush=True); sys.stdin.readline()
while reminders_send_due(now=timezone.now(), limit=20, channels=["email"]).sent:
    pass
"""
_AGAIN = "update scheduling_reminder set state = 'due', claim = '', sent_at = null, attempts = 0"
_FILL = f"""
insert into scheduling_reminder (shop_id, job_id, customer_id, purpose, channel, key, due_at,
  state, why, attempts, claim, recipient, subject, body, error, created_at, sent_at)
select shop_id, job_id, customer_id, purpose, case when n % 4 = 0 then 'text' else 'email' end,
  'filled/' || n, now() + ({DUE} - n) * interval '-1 minute',
  case when n % 2 = 0 then 'due' else 'sent' end, why, 0, '', '', '', '', '', now(),
  case when n % 2 = 0 then null else now() end
from (select * from scheduling_reminder limit 1) one, generate_series(1, {ROWS}) n
"""  # noqa: S608 -- figures of our own


def run(report: Report) -> None:
    """Measure both."""
    server, reason = reachable.postgres()
    if reason:
        report.note(f"reminders: not measured, {reason}")
        return
    with (
        tempfile.TemporaryDirectory(prefix="halfmil bench ") as var,
        database(server, f"halfmil_bench_{os.getpid()}") as url,
    ):
        environment = {
            **os.environ,
            "HALFMIL_DATABASE_URL": url,
            "HALFMIL_VAR_DIR": var,
            "HALFMIL_MAIL": "smtp",
            "HALFMIL_MAIL_HOST": "127.0.0.1",
            "DJANGO_SETTINGS_MODULE": "shop.settings",
            "HALFMIL_LOG_LEVEL": "ERROR",
        }
        for command in (["manage.py", "migrate", "-v0"], ["-c", _PREPARE]):
            subprocess.run([sys.executable, *command], cwd=ROOT, env=environment, check=True)
        for workers in (1, 2, 4):
            _rate(report, workers, url, environment)
        _due_query(report, url, environment)


def _rate(report: Report, workers: int, url: str, environment: dict[str, str]) -> None:
    with psycopg.connect(url, autocommit=True) as line:
        line.execute(_AGAIN)
    sink = Sink()
    with listening(sink) as port, _started(workers, environment, port) as processes:
        began = time.perf_counter()
        for process in processes:
            assert process.stdin is not None
            process.stdin.write(b"go\n")
            process.stdin.flush()
        for process in processes:
            if process.wait():
                raise RuntimeError("a sender ended with an error")
        seconds = time.perf_counter() - began
    if len(sink.ids) != MESSAGES or max(sink.ids.values()) != 1:
        raise RuntimeError(f"{len(sink.ids)} of {MESSAGES} messages arrived")
    report.note(
        f"reminders by SMTP, {workers} worker{'s' if workers > 1 else ''}: "
        f"{MESSAGES / seconds:.0f} a second ({MESSAGES} messages in {seconds:.1f} s)"
    )


@contextlib.contextmanager
def _started(
    workers: int, environment: dict[str, str], port: int
) -> Iterator[list[subprocess.Popen[bytes]]]:
    """Start senders and wait until each is ready to begin."""
    processes = [
        subprocess.Popen(
            [sys.executable, "-c", _WORK],
            cwd=ROOT,
            env={**environment, "HALFMIL_MAIL_PORT": str(port)},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        for _ in range(workers)
    ]
    try:
        for process in processes:
            assert process.stdout is not None
            process.stdout.readline()
        yield processes
    finally:
        for process in processes:
            process.kill()
            process.communicate()


def _due_query(report: Report, url: str, environment: dict[str, str]) -> None:
    """Time the query of a round among a million rows, half of them due at some time."""
    with psycopg.connect(url, autocommit=True) as line:
        line.execute(_FILL)
        line.execute("vacuum analyze scheduling_reminder")
        asked = subprocess.run(
            [sys.executable, "-c", _QUERY],
            cwd=ROOT,
            env=environment,
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        plan = "\n".join(row[0] for row in line.execute(f"explain {asked}"))
        if "reminder_due_queue" not in plan:
            raise RuntimeError(f"the index is not used:\n{plan}")
        seconds = []
        found = 0
        for _ in range(50):
            began = time.perf_counter()
            found = len(line.execute(asked).fetchall())
            seconds.append(time.perf_counter() - began)
    name = f"{found} due among {ROWS:,} reminders, by the index reminder_due_queue"
    report.timing(name, seconds, target_ms=TARGET_MS)


_QUERY = """
import django; django.setup()
from django.utils import timezone
from scheduling.services.reminders import due_rows
from django.db import connection
query = due_rows("email", timezone.now(), 200).query
sql, values = query.sql_with_params()
with connection.cursor() as cursor:
    print(cursor.cursor.mogrify(sql, values))
"""
