"""``manage.py worker``: Celery workers, each queue's apart from the others.

With several queues there is a worker process for each, so that neither a search nor a mail
server that stalls takes the place of a text message.
"""

import os
import time
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.celery import app
from shop.processes import LOOK_SECONDS, Asked, Kept, stop

NO_BROKER = (
    "There is no broker: set HALFMIL_REDIS_URL, for example redis://localhost:6379/0. "
    "Without one `make run` does the same work by itself."
)


class Command(BaseCommand):
    """Works off the queues named in the settings."""

    help = "Work off the queues of the broker, each apart; --queues picks some of them."

    def add_arguments(self, parser: CommandParser) -> None:
        """Add which queues, and how many tasks at a time."""
        parser.add_argument("--queues", default=",".join(settings.TASK_QUEUES))
        parser.add_argument(
            "--concurrency", type=int, default=1, help="how many tasks of each queue at a time"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Run until stopped."""
        if not settings.REDIS_URL:
            raise CommandError(NO_BROKER)
        queues = [name.strip() for name in options["queues"].split(",")]
        unknown = set(queues) - set(settings.TASK_QUEUES)
        if unknown:
            known = ", ".join(settings.TASK_QUEUES)
            raise CommandError(f"No such queue: {', '.join(sorted(unknown))}. There are: {known}.")
        if len(queues) == 1:
            self._work(queues[0], options["concurrency"])
        else:
            self._keep(queues, options["concurrency"])

    def _work(self, queue: str, concurrency: int) -> None:
        """Be the worker of one queue."""
        app.worker_main(
            [
                *("worker", "--loglevel", "INFO", "--queues", queue),
                *("--concurrency", str(concurrency), "--hostname", f"{queue}.{os.getpid()}@%h"),
            ]
        )

    def _keep(self, queues: list[str], concurrency: int) -> None:
        """Keep a worker process for each queue."""
        asked = Asked()
        more = ["--concurrency", str(concurrency)]
        kept = [
            Kept(f"worker of {queue}", ["manage.py", "worker", "--queues", queue, *more])
            for queue in queues
        ]
        try:
            while not asked:
                time.sleep(LOOK_SECONDS)
                for one in kept:
                    one.look_after(self.stderr.write)
        finally:
            # Longer than a task may take: each ends what it does.
            stop(kept, within_seconds=settings.CELERY_TASK_TIME_LIMIT)
