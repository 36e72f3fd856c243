"""``manage.py worker``: a Celery worker for every queue."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.celery import app

NO_BROKER = (
    "There is no broker: set HALFMIL_REDIS_URL, for example redis://localhost:6379/0. "
    "Without one `make run` does the same work by itself."
)


class Command(BaseCommand):
    """Works off the queues named in the settings."""

    help = "Work off the queues of the broker; --queues picks some of them."

    def add_arguments(self, parser: CommandParser) -> None:
        """Add which queues, and how many tasks at a time."""
        parser.add_argument("--queues", default=",".join(settings.TASK_QUEUES))
        parser.add_argument("--concurrency", type=int, default=2)

    def handle(self, *args: Any, **options: Any) -> None:
        """Run until stopped."""
        if not settings.REDIS_URL:
            raise CommandError(NO_BROKER)
        known = set(settings.TASK_QUEUES)
        unknown = set(options["queues"].split(",")) - known
        if unknown:
            raise CommandError(f"No such queue: {', '.join(sorted(unknown))}. Use {sorted(known)}.")
        app.worker_main(
            [
                *("worker", "--loglevel", "INFO", "--queues", options["queues"]),
                *("--concurrency", str(options["concurrency"])),
            ]
        )
