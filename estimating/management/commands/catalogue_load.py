"""``manage.py catalogue_load``: a catalogue file into a shop's tables, from a day on."""

from __future__ import annotations

import sys
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from estimating import selectors
from estimating.files import file_bytes
from estimating.services.catalogue import catalogue_store
from estimating.services.estimates import catalogue_read
from estimating.shop_choice import shop_chosen
from shop.refusals import Problem, Refused

REFUSED = 2


class Command(BaseCommand):
    """Loads a catalogue."""

    help = "Load a halfmil-catalogue/1 file; what held on earlier days stays as it was."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Add the file, the shop and the first day."""
        parser.add_argument("file", metavar="FILE", help="halfmil-catalogue/1, or - for input")
        parser.add_argument("--shop", metavar="SLUG", help="default: the first shop")
        parser.add_argument(
            "--from", metavar="DATE", dest="day", help="first day, YYYY-MM-DD (default: today)"
        )

    def handle(self, *_args: Any, **given: Any) -> None:
        """Store the catalogue and say how much was new."""
        try:
            self._store(given)
        except Refused as refused:
            for problem in refused.problems:
                self.stderr.write(str(problem))
            sys.exit(REFUSED)

    def _store(self, given: dict[str, Any]) -> None:
        catalogue = catalogue_read(file_bytes(given["file"]))
        shop = shop_chosen(given["shop"])
        if shop is None:
            raise Refused(
                Problem("None: there is no shop yet; make one, or run manage.py demo", "--shop")
            )
        day = _day(given["day"]) or selectors.local_day(shop, timezone.now())
        written = catalogue_store(shop=shop, catalogue=catalogue, day=day)
        self.stdout.write(f"{shop.name}: {written} rows new or changed, holding from {day}.")


def _day(text: str | None) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError as error:
        raise Refused(Problem(f"{text!r}: write a date such as 2026-03-02", "--from")) from error
