"""``manage.py estimate``: a file of findings in, work and money out.

Starts fast: no system checks, and nothing imported that an estimate does not use.
"""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from estimating import selectors
from estimating.core.formats import write_estimate
from estimating.core.options import STANDARD_WASH, Options
from estimating.core.result import Estimate
from estimating.files import file_bytes
from estimating.services.estimates import estimate_make, estimate_without_shop
from estimating.shop_choice import shop_chosen
from estimating.text import estimate_text
from shop.refusals import Refused

NO_SHOP = (
    "This database has no shop yet: rates, terms and tables are those of the invented shop. "
    "Run manage.py demo, or load your own with manage.py catalogue_load."
)
REFUSED = 2


class Command(BaseCommand):
    """Estimates a vehicle from a file."""

    help = "Estimate a halfmil-inspection/1 file; exit status 2 where it is refused."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Add the file, the shop and what is ordered."""
        parser.add_argument("file", metavar="FILE", help="halfmil-inspection/1, or - for input")
        parser.add_argument("--json", action="store_true", help="print halfmil-estimate/1")
        parser.add_argument("--shop", metavar="SLUG", help="default: the first shop")
        parser.add_argument("--wash", metavar="CODE", default=STANDARD_WASH, help="none for none")
        parser.add_argument("--coating", metavar="CODE")
        parser.add_argument("--add-on", metavar="CODE", action="append", default=[])
        parser.add_argument("--technician", metavar="CLASS")

    def handle(self, *_args: Any, **given: Any) -> None:
        """Print the estimate, or each problem on a line of its own."""
        try:
            made = self._made(given)
        except Refused as refused:
            for problem in refused.problems:
                self.stderr.write(str(problem))
            sys.exit(REFUSED)
        if given["json"]:
            self.stdout.write(json.dumps(write_estimate(made), indent=1))
        else:
            self.stdout.write(estimate_text(made))

    def _made(self, given: dict[str, Any]) -> Estimate:
        document = file_bytes(given["file"])
        options = Options(
            wash=None if given["wash"] == "none" else given["wash"],
            coating=given["coating"],
            add_ons=tuple(given["add_on"]),
            technician=given["technician"],
        )
        shop = shop_chosen(given["shop"])
        if shop is None:
            made = estimate_without_shop(document=document, options=options)
            return replace(made, warnings=(*made.warnings, NO_SHOP))
        day = selectors.local_day(shop, timezone.now())
        return estimate_make(shop=shop, document=document, options=options, day=day)
