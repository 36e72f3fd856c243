"""``manage.py beat``: Celery's clock, which hands periodic tasks to the workers."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from shop.celery import app
from shop.management.commands.worker import NO_BROKER


class Command(BaseCommand):
    """Sends what ``CELERY_BEAT_SCHEDULE`` says is due to the broker.

    Two at once do no harm: every task looks up what is due and claims its rows, so that the
    second finds nothing to do. So a spare one may run on another machine.
    """

    help = "Hand the periodic tasks to the workers (needs a broker; a second one does no harm)."

    def handle(self, *args: Any, **options: Any) -> None:
        """Run until stopped."""
        if not settings.REDIS_URL:
            raise CommandError(NO_BROKER)
        app.Beat(loglevel="INFO", scheduler_cls="shop.clock:SteadyScheduler").run()
