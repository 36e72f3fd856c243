"""Workers killed while they send, and everything they stand on failing for a while.

Real workers (two, each with two processes) send to a real SMTP server of this process,
through a Redis and a PostgreSQL database of this round's own. Two clocks hand out every
task twice. Workers are killed with SIGKILL: before the mail server answers, right after,
and at any time.
"""

from __future__ import annotations

import contextlib
import random
import threading
import time
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from email.message import Message
from functools import partial
from pathlib import Path

from celery import Celery
from django.conf import settings
from django.db import connection
from django.db.models import Count
from django.test import override_settings
from django.utils import timezone
from kombu.exceptions import OperationalError

from scheduling.models import Reminder, ReminderState
from scheduling.services.reminders import reminders_send_due
from tests import reachable
from tests.mailserver import TAKEN, Sink, listening
from tests.stress.due import awake_shop, booked_job, due_reminders
from tests.stress.processes import OwnRedis, Worker, own_redis
from tests.stress.report import StressReport

SLOTS = 2
PROCESSES = 2
SEED = 20260302
MAIL_TIMEOUT_SECONDS = 2
TASK = "scheduling.send_email"
_MOST_SECONDS = {True: 240.0, False: 1500.0}


@dataclass
class Harm:
    """What is done at which count of messages that have arrived."""

    messages: int
    kills: int
    faults: int
    plan: dict[int, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        reach = self.messages * 0.8
        for number in range(self.kills):
            self.plan[int(reach * (number + 0.5) / self.kills)] = (
                "kill before the answer",
                "kill after the answer",
                "kill at any time",
            )[number % 3]
        steps = ("redis", "database", "refuse", "stall", "rubbish", "database")
        for number, step in enumerate(steps):
            at = int(reach * (number + 0.75) / len(steps))
            while at in self.plan:
                at += 1
            self.plan[at] = step


class Scene:
    """Counts what arrives and does what the plan says of that count."""

    def __init__(self, harm: Harm, redis: OwnRedis) -> None:
        self.harm, self._redis = harm, redis
        self.sinks = [Sink() for _ in range(SLOTS)]
        self.workers: list[Worker] = []
        self.cuts = self.restarts = 0
        self._count, self._lock = 0, threading.Lock()
        self._bad = {"refuse": 0, "stall": 0, "rubbish": 0}
        self._rng = random.Random(SEED)  # noqa: S311 -- when to kill
        for slot, sink in enumerate(self.sinks):
            sink.after_text = partial(self._arrived, slot)

    def _arrived(self, slot: int, _mail: Message) -> None:
        with self._lock:
            step = self.harm.plan.get(self._count, "")
            self._count += 1
            if step in self._bad:
                self._bad[step] = self.harm.faults
            self._behave(self.sinks[slot])
        if step == "kill before the answer":
            self.workers[slot].kill()
        elif step == "kill after the answer":
            # The answer is on its way in well under this; recording takes longer.
            threading.Timer(0.002, self.workers[slot].kill).start()
        elif step == "kill at any time":
            threading.Timer(self._rng.uniform(0, 0.3), self.workers[slot].kill).start()
        elif step == "redis":
            threading.Thread(target=self._restart_redis).start()
        elif step == "database":
            threading.Thread(target=self._cut_database).start()

    def _behave(self, sink: Sink) -> None:
        """Let the server be as bad to this message as is due, one badness after another."""
        sink.data, sink.stall_seconds = TAKEN, 0.0
        for name in self._bad:
            if self._bad[name]:
                self._bad[name] -= 1
                if name == "stall":
                    sink.stall_seconds = MAIL_TIMEOUT_SECONDS * 1.5
                else:
                    sink.data = {"refuse": "451 later", "rubbish": "I like trains"}[name]
                return

    def _restart_redis(self) -> None:
        self._redis.restart()
        self.restarts += 1

    def _cut_database(self) -> None:
        with connection.cursor() as cursor:
            cursor.execute(
                "select count(pg_terminate_backend(pid)) from pg_stat_activity "
                "where datname = current_database() and pid <> pg_backend_pid()"
            )
            self.cuts += cursor.fetchone()[0]
        connection.close()

    def received(self) -> dict[str, int]:
        """How often each Message-ID arrived and was not refused."""
        total: dict[str, int] = {}
        for sink in self.sinks:
            for name, count in sink.ids.items():
                total[name] = total.get(name, 0) + count
        return total


def run(report: StressReport, short: bool) -> bool:
    """Do all the harm; return whether nothing was lost and nothing sent twice."""
    harm = Harm(200, 5, 3) if short else Harm(2000, 50, 12)
    now = timezone.now()
    shop = awake_shop()
    due_reminders(booked_job(shop, now), (f"stress/{n}" for n in range(harm.messages)), now)
    with contextlib.ExitStack() as stack:
        try:
            redis = stack.enter_context(own_redis())
        except RuntimeError as error:
            report.note(f"Not run: {error}")
            return not reachable.required()
        scene = Scene(harm, redis)
        ports = [stack.enter_context(listening(sink)) for sink in scene.sinks]
        seconds = _work(scene, ports, redis.url, _MOST_SECONDS[short])
        _drain(ports[0])
    return _judge(report, scene, seconds)


def _work(scene: Scene, ports: list[int], broker: str, most_seconds: float) -> float:
    """Let the workers send until nothing is due now; return how long that took."""
    started = time.monotonic()
    for slot, port in enumerate(ports):
        mail = {
            "HALFMIL_REDIS_URL": broker,
            "HALFMIL_MAIL": "smtp",
            "HALFMIL_MAIL_HOST": "127.0.0.1",
            "HALFMIL_MAIL_PORT": str(port),
            "HALFMIL_MAIL_TIMEOUT_SECONDS": str(MAIL_TIMEOUT_SECONDS),
        }
        log = Path(settings.VAR_DIR) / f"worker {slot}.log"
        many = ("--queues", "email", "--concurrency", str(PROCESSES))
        scene.workers.append(Worker(mail, log, *many))
    clock = Celery(broker=broker, set_as_current=False)
    # A broker that is away is asked again by the next round, not by this one.
    clock.conf.broker_transport_options = {"socket_connect_timeout": 1, "max_retries": 0}
    try:
        while _due_now() and time.monotonic() - started < most_seconds:
            for _beat in range(2):
                with contextlib.suppress(OperationalError, OSError):
                    clock.send_task(
                        TASK, kwargs={"limit": 40}, queue="email", expires=2, retry=False
                    )
            time.sleep(0.4)
            for worker in scene.workers:
                worker.look_after()
    finally:
        clock.close()
        for worker in scene.workers:
            worker.stop()
    return time.monotonic() - started


def _due_now() -> bool:
    connection.close_if_unusable_or_obsolete()
    due = Reminder.objects.filter(state=ReminderState.DUE, due_at__lte=timezone.now())
    return due.exists()


def _drain(port: int) -> None:
    """Let the hours pass in which tries again come due and lost claims are noticed."""
    mail = {
        "MAIL": "smtp",
        "EMAIL_BACKEND": "scheduling.notify.email.watched.Backend",
        "EMAIL_HOST": "127.0.0.1",
        "EMAIL_PORT": port,
    }
    now: datetime = timezone.now()
    connection.close()
    with override_settings(**mail):
        for _ in range(24):
            now += timedelta(minutes=31)
            reminders_send_due(now=now, limit=100_000)


def _judge(report: StressReport, scene: Scene, seconds: float) -> bool:
    states = dict(Reminder.objects.order_by().values_list("state").annotate(n=Count("pk")))
    received = scene.received()
    named = {
        f"<{key.replace('/', '.')}@localhost>": state
        for key, state in Reminder.objects.values_list("key", "state")
    }
    harm, sent = scene.harm, states.get("sent", 0)
    unknown = states.get("unknown", 0)
    kills = sum(worker.kills for worker in scene.workers)
    report.note(f"{harm.messages} messages in {seconds:.0f} s; at the end: {states}")
    bound = 2 * kills * PROCESSES + 2 * harm.faults + 2 * scene.cuts
    told = Reminder.objects.filter(state="unknown").exclude(error="").exclude(claimed_by="")
    silent = [name for name, state in named.items() if state == "sent" and name not in received]
    extra = [name for name in received if name not in named]
    waiting = [n for n, s in named.items() if s not in ("sent", "unknown")]
    demands = [
        report.equal("workers killed with SIGKILL", kills, harm.kills),
        report.equal("Redis restarted with all it held", scene.restarts, 1),
        report.figure(
            "connections to the database cut", scene.cuts, "1 or more", ok=scene.cuts > 0
        ),
        report.equal("received more than once", sum(n > 1 for n in received.values()), 0),
        report.equal("received, and of no row", len(extra), 0),
        report.equal("noted as sent and not received", len(silent), 0),
        report.equal("sent + unknown", sent + unknown, harm.messages),
        report.equal("left due, claimed, failed or expired", len(waiting), 0),
        report.figure("unknown, for a person", unknown, f"at most {bound}", ok=unknown <= bound),
        report.equal("unknown without who, when and through what", unknown - told.count(), 0),
    ]
    return all(demands)
