"""``manage.py plan_search RUN``: works on one search that a person asked for."""

from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from scheduling.services.planruns import planrun_work


class Command(BaseCommand):
    """Searches in a process of its own where there is no broker; the site starts it."""

    help = "Work on one search for a better week (the site starts this where there is no broker)."

    def add_arguments(self, parser: CommandParser) -> None:
        """Add which."""
        parser.add_argument("run", type=int)

    def handle(self, *args: Any, **options: Any) -> None:
        """Search; nothing happens if it is worked on already or was stopped."""
        planrun_work(run_id=options["run"], clock=timezone.now)
