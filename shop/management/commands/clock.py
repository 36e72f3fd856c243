"""``manage.py clock``: runs the periodic tasks until it is stopped."""

import signal
from types import FrameType
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser
from django.db import close_old_connections
from django.utils import timezone

from shop.celery import app
from shop.clock import Clock, Entry, Lanes, entries_from
from shop.stopping import stopping


def call_task(entry: Entry) -> None:
    """Run or send the task of one entry and raise where it failed."""
    # A long-lived process: the database may have gone away since the last call.
    close_old_connections()
    result = app.tasks[entry.task].apply_async(entry.arguments, dict(entry.keywords))
    if settings.CELERY_TASK_ALWAYS_EAGER:
        # An eager result keeps the task's exception until it is asked for.
        result.get(disable_sync_subtasks=False)
    close_old_connections()


def lane_of(entry: Entry) -> str:
    """Return the queue that the task of an entry would wait in: it is its lane here."""
    queue: str = app.amqp.router.route({}, entry.task)["queue"].name
    return queue


class Command(BaseCommand):
    """Runs what ``CELERY_BEAT_SCHEDULE`` says is due."""

    help = "Run the periodic tasks (reminders and the like); `manage.py run` starts this too."

    def add_arguments(self, parser: CommandParser) -> None:
        """Add ``--once``."""
        parser.add_argument(
            "--once", action="store_true", help="run every periodic task now, once, and stop"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Tick until told to stop."""
        app.loader.import_default_modules()
        entries = entries_from(settings.CELERY_BEAT_SCHEDULE, started_at=timezone.now())
        if options["once"]:
            for entry in entries:
                call_task(entry)
            return

        def ask_to_stop(_number: int, _frame: FrameType | None) -> None:
            stopping.set()

        for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
            signal.signal(number, ask_to_stop)
        lanes = Lanes()

        def hand_over(entry: Entry) -> None:
            lanes.start(lane_of(entry), entry.task, lambda: call_task(entry))

        clock = Clock(entries, hand_over)
        while not stopping.is_set():
            stopping.wait(clock.tick(timezone.now()))
        lanes.stop()
