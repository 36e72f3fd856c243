"""``manage.py plan_search RUN``: works on one search that a person asked for."""

import os
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from scheduling.services.planruns import planrun_work

POLITE = 10
"""How much a search gives way to the site on the same machine (``nice``)."""


class Command(BaseCommand):
    """Searches in a process of its own where there is no broker; the site starts it."""

    help = "Work on one search for a better week (the site starts this where there is no broker)."

    def add_arguments(self, parser: CommandParser) -> None:
        """Add which, and whether the site on this machine goes first."""
        parser.add_argument("run", type=int)
        parser.add_argument("--polite", action="store_true", help="give way to other processes")

    def handle(self, *args: Any, **options: Any) -> None:
        """Search; nothing happens if it is worked on already or was stopped."""
        if options["polite"]:
            os.nice(POLITE)
        planrun_work(run_id=options["run"], clock=timezone.now)
