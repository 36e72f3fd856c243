"""``manage.py estimate``: files of findings in, work and money out.

Starts fast: no system checks, and nothing imported that an estimate does not use.
"""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from estimating.core.explain import explain
from estimating.core.formats import write_estimate
from estimating.core.options import STANDARD_WASH, Options
from estimating.core.result import Estimate
from estimating.core.svg import sheet
from estimating.files import file_bytes, file_write, files_named
from estimating.selectors import local_day
from estimating.services.estimates import (
    Basis,
    basis_for,
    basis_without_shop,
    estimate_on,
    inspection_read,
)
from estimating.shop_choice import shop_chosen
from estimating.text import estimate_text
from shop.refusals import Refused

NO_SHOP = (
    "This database has no shop yet: rates, terms and tables are those of the invented shop. "
    "Run manage.py demo, or load your own with manage.py catalogue_load."
)
REFUSED = 2
HELP = (
    "Estimate halfmil-inspection/1 files. One file prints one answer. With several (or a "
    "directory, which stands for its .json files in order of name) each is answered by "
    "itself: --json prints one line a file, in order, which is null for a file that is "
    "refused. What is refused is told on standard error, and the exit status is then 2."
)


class Command(BaseCommand):
    """Estimates vehicles from files."""

    help = HELP
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Add the files, the shop, what is ordered and how the answer is written."""
        parser.add_argument(
            "file", metavar="FILE", nargs="+", help="halfmil-inspection/1, - for input, a directory"
        )
        how = parser.add_mutually_exclusive_group()
        how.add_argument("--json", action="store_true", help="print halfmil-estimate/1")
        how.add_argument(
            "--explain", action="store_true", help="print each number's origin and formula"
        )
        parser.add_argument(
            "--svg",
            metavar="OUT",
            help="also draw film strips and finish curve; one file only",
        )
        parser.add_argument("--shop", metavar="SLUG", help="default: the first shop")
        parser.add_argument("--wash", metavar="CODE", default=STANDARD_WASH, help="none for none")
        parser.add_argument("--coating", metavar="CODE")
        parser.add_argument("--add-on", metavar="CODE", action="append", default=[])
        parser.add_argument("--technician", metavar="CLASS")

    def handle(self, *_args: Any, **given: Any) -> None:
        """Print each estimate, or each problem on a line of its own."""
        try:
            names = files_named(given["file"])
            if given["svg"] and len(names) > 1:
                raise CommandError("--svg draws one vehicle: name one file", returncode=REFUSED)
            work = _Work(given)
            refused = [name for name in names if not self._answered(name, work, len(names) > 1)]
        except Refused as error:  # of the shop: no file can be answered
            self._tell(error)
            sys.exit(REFUSED)
        if refused:
            sys.exit(REFUSED)

    def _answered(self, name: str, work: _Work, many: bool) -> bool:
        """Answer one file; False where it was refused, which is told."""
        try:
            made = work.estimate(name)
            if work.given["svg"]:
                file_write(work.given["svg"], sheet(made), field="--svg")
        except _ShopRefused as error:
            raise error.refused from error
        except Refused as error:
            self._tell(error, f"{name}: " if many else "")
            if many and work.given["json"]:
                self.stdout.write("null")
            return False
        if many and not work.given["json"]:
            self.stdout.write(f"== {name}")
        self.stdout.write(work.written(made, many))
        return True

    def _tell(self, refused: Refused, before: str = "") -> None:
        for problem in refused.problems:
            self.stderr.write(f"{before}{problem}")


class _ShopRefused(Exception):
    """The shop, not a file, is why there is no answer."""

    def __init__(self, refused: Refused) -> None:
        self.refused = refused
        super().__init__(str(refused))


class _Work:
    """What is asked of every file; tables and terms are read once, when first needed."""

    def __init__(self, given: dict[str, Any]) -> None:
        self.given = given
        self.options = Options(
            wash=None if given["wash"] == "none" else given["wash"],
            coating=given["coating"],
            add_ons=tuple(given["add_on"]),
            technician=given["technician"],
        )
        self._basis: Basis | None = None
        self._without_shop = False

    def estimate(self, name: str) -> Estimate:
        """The estimate of a file; the file is read first, whatever the shop has."""
        inspection = inspection_read(file_bytes(name))
        made = estimate_on(basis=self.basis, inspection=inspection, options=self.options)
        return replace(made, warnings=(*made.warnings, NO_SHOP)) if self._without_shop else made

    @property
    def basis(self) -> Basis:
        """Tables and terms of the shop, or of the invented one where there is none."""
        if self._basis is None:
            try:
                shop = shop_chosen(self.given["shop"])
                self._without_shop = shop is None
                self._basis = (
                    basis_without_shop()
                    if shop is None
                    else basis_for(shop=shop, day=local_day(shop, timezone.now()))
                )
            except Refused as error:
                raise _ShopRefused(error) from error
        return self._basis

    def written(self, made: Estimate, many: bool) -> str:
        """The answer as it was asked for."""
        if self.given["json"]:
            return json.dumps(write_estimate(made), indent=None if many else 1)
        if self.given["explain"]:
            return explain(made, self.basis.catalogue, self.basis.terms)
        return estimate_text(made)
