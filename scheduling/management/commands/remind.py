"""``manage.py remind``: send the messages that are due."""

from __future__ import annotations

import argparse
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from scheduling.notify import CARRIERS
from scheduling.services.reminders import SendReport, reminders_send_due

FAILURE = 1


class Command(BaseCommand):
    """Sends what is due once and prints what became of each message."""

    help = (
        "Send the messages that are due. Exit status 0, or 1 where one failed or it is not "
        "known whether it went out."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Add how many and through what."""
        parser.add_argument(
            "--limit", type=_at_least_one, default=200, help="how many to take up at most"
        )
        parser.add_argument(
            "--through",
            choices=sorted(CARRIERS),
            help="one way for all of them, instead of those that the settings give",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Send and print; see :func:`reminders_send_due`."""
        now = timezone.now()
        report = reminders_send_due(now=now, limit=options["limit"], through=options["through"])
        for line in report.lines:
            row = line.reminder
            about = row.job.number if row.job else row.reader.name
            said = f"{line.outcome:<9} {about}  {row.get_purpose_display()}"
            self.stdout.write(f"{said}  {row.channel}  {row.recipient}".rstrip())
            if row.error:
                self.stdout.write(f"          {row.error}")
        self.stdout.write(_total(report))
        if report.failed or report.unknown:
            raise SystemExit(FAILURE)


def _total(report: SendReport) -> str:
    words = ("sent", "retried", "failed", "unknown", "expired", "withdrawn", "postponed")
    counts = {word: getattr(report, word) for word in words}
    said = ", ".join(f"{count} {word}" for word, count in counts.items() if count)
    return said or "Nothing is due."


def _at_least_one(text: str) -> int:
    if not text.isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"{text!r}; give a whole number above 0")
    return int(text)
