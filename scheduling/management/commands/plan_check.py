"""``manage.py plan_check``: whether a plan keeps every rule of its week."""

from __future__ import annotations

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from scheduling.core.check_said import check_file
from scheduling.core.problem import Plan, Week
from scheduling.week_files import plan_read, week_read
from shop.refusals import Problem, Refused

BROKEN, REFUSED = 1, 2


class Command(BaseCommand):
    """Checks one plan file against its week file, independently of how it was made."""

    help = (
        "Check a halfmil-plan/1 file against its halfmil-week/1 file. Prints a line for each "
        "violation: rule, subject, reason. Exit status 0 where there is none, 1 where there is "
        "one, 2 where a file is refused."
    )
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Add the two files."""
        parser.add_argument("week", metavar="WEEK", help="halfmil-week/1, - for standard input")
        parser.add_argument("plan", metavar="PLAN", help="halfmil-plan/1, - for standard input")

    def handle(self, *_args: Any, **given: Any) -> None:
        """Print each violation; see :func:`scheduling.core.check_said.check_file`."""
        try:
            week, plan = _files(given["week"], given["plan"])
        except Refused as error:
            for problem in error.problems:
                self.stderr.write(str(problem))
            sys.exit(REFUSED)
        broken = check_file(week, plan)
        for one in broken:
            self.stdout.write(f"{one.rule}: {one.subject}: {one.text}")
        if broken:
            told = ngettext("%(count)s violation", "%(count)s violations", len(broken))
            self.stderr.write(told % {"count": len(broken)})
            sys.exit(BROKEN)
        self.stdout.write(_("The plan keeps every rule of its week."))


def _files(week: str, plan: str) -> tuple[Week, Plan]:
    if week == plan == "-":
        raise Refused(Problem(_("'-': standard input is the week; name a file"), "PLAN"))
    return week_read(week), plan_read(plan, field="PLAN")
