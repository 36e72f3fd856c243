"""``manage.py beat``: Celery's clock, which hands periodic tasks to the workers."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from shop.celery import app
from shop.management.commands.worker import NO_BROKER


class Command(BaseCommand):
    """Sends what ``CELERY_BEAT_SCHEDULE`` says is due to the broker; run one of it."""

    help = "Hand the periodic tasks to the workers (needs a broker; run only one)."

    def handle(self, *args: Any, **options: Any) -> None:
        """Run until stopped."""
        if not settings.REDIS_URL:
            raise CommandError(NO_BROKER)
        app.Beat(loglevel="INFO", schedule=str(settings.VAR_DIR / "celerybeat-schedule")).run()
