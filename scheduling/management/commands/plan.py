"""``manage.py plan``: a week's scheduling problem in, a schedule out."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils.translation import gettext as _

from estimating.files import file_write
from scheduling.core.check import check_plan
from scheduling.core.problem import Plan, PlanStatus, Week
from scheduling.core.solve import Effort, Progress
from scheduling.core.svg_plan import plan_svg
from scheduling.management.keys import key_pressed
from scheduling.management.search_line import SearchLine, points, share
from scheduling.management.watched import solve_watched
from scheduling.week_files import output_check, plan_text, start_read, week_read
from shop.refusals import Problem, Refused

NO_PLAN, REFUSED, IMPOSSIBLE = 1, 2, 3
MOST_SECONDS = 24 * 60 * 60
MOST_WORKERS = 64
MOST_SEED = 2**31 - 1
HELP = (
    "Plan a halfmil-week/1 file and write a halfmil-plan/1 file. Exit status 0 with a schedule, "
    "3 where the week is impossible (the reasons are in the file), 2 where a file or option is "
    "refused (nothing is written), 1 where the time was too short to find any schedule. The "
    "search ends with its time, its gap, Ctrl-C or any key; the best schedule so far is kept."
)


class Command(BaseCommand):
    """Plans one week from a file."""

    help = HELP
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Add the file, how long and how to search, and where the answer goes."""
        parser.add_argument("file", metavar="FILE", help="halfmil-week/1, - for standard input")
        parser.add_argument("--seconds", metavar="S", default="30", help="time limit (30)")
        parser.add_argument(
            "--json", metavar="OUT", default="-", help="the plan; - (default) prints it"
        )
        parser.add_argument("--svg", metavar="OUT", help="also draw the plan; - prints it")
        parser.add_argument("--seed", metavar="N", default="1", help="of random choices (1)")
        parser.add_argument("--workers", metavar="N", default="1", help="threads of the solver (1)")
        parser.add_argument(
            "--gap", metavar="G", default="0", help="stop at this unproven share, 0 to 1 (0)"
        )
        parser.add_argument(
            "--rounds", metavar="N",
            help="rounds of improvement; with one worker and time to spare the answer repeats",
        )  # fmt: skip
        parser.add_argument(
            "--start", metavar="PLAN", help="a plan of this week that the answer never falls behind"
        )
        parser.add_argument(
            "--progress", action="store_true", help="tell progress even where no terminal reads it"
        )

    def handle(self, *_args: Any, **given: Any) -> None:
        """Plan, write and say how it went; see :func:`scheduling.core.solve.solve`."""
        try:
            effort = _effort(given)
            _outputs(given)
            week = week_read(given["file"])
            start = start_read(given["start"], week) if given["start"] else None
            plan, by_hand = self._search(week, effort, start, bool(given["progress"]))
            self._write(week, plan, given)
        except Refused as error:
            for problem in error.problems:
                self.stderr.write(str(problem))
            sys.exit(REFUSED)
        except KeyboardInterrupt:
            self.stderr.write(_("Broken off by a second interrupt; nothing was written."))
            sys.exit(128 + 2)
        self._say(week, plan, by_hand=by_hand, printed="-" in (given["json"], given["svg"]))
        if plan.status is PlanStatus.IMPOSSIBLE:
            sys.exit(IMPOSSIBLE)
        if plan.status is PlanStatus.NONE_FOUND:
            sys.exit(NO_PLAN)

    def _search(
        self, week: Week, effort: Effort, start: Plan | None, told: bool
    ) -> tuple[Plan, bool]:
        terminal = self.stderr.isatty()
        line = SearchLine(self._plainly, effort.seconds, rewritten=terminal)
        show: Callable[[Progress, float], None] | None = line.show if told or terminal else None
        with key_pressed() as pressed:
            done = solve_watched(week, effort, start=start, stop=pressed, show=show)
        if show is not None:
            line.close()
        has_schedule = done.plan.status in (PlanStatus.OPTIMAL, PlanStatus.FEASIBLE)
        broken = check_plan(week, done.plan) if has_schedule else []
        if broken:
            raise RuntimeError(f"the plan breaks a rule of its week, which is a fault: {broken[0]}")
        return done.plan, done.by_hand

    def _plainly(self, text: str) -> None:
        self.stderr.write(text, style_func=str, ending="")
        self.stderr.flush()

    def _write(self, week: Week, plan: Plan, given: dict[str, Any]) -> None:
        outputs = [("--json", given["json"], plan_text(plan))]
        if given["svg"]:
            outputs.append(("--svg", given["svg"], plan_svg(week, plan)))
        for field, name, text in outputs:
            if name == "-":
                self.stdout.write(text, ending="")
            else:
                file_write(name, text, field=field)

    def _say(self, week: Week, plan: Plan, *, by_hand: bool, printed: bool) -> None:
        """Say in a few lines what came of it; beside a printed plan, on standard error."""
        lines = [f"{week.name or _('week')}: {_STATUS[plan.status]()}"]
        if plan.objective is not None:
            lines[0] += (
                f", {points(plan.objective)} ({_('bound')} {points(plan.bound)}, "
                f"{_('gap')} {share(plan.gap)}), {plan.seconds:.1f} s"
            )
        lines += [f"  {reason}" for reason in plan.reasons]
        if by_hand:
            lines.append(_("Stopped by hand: this is the best found until then."))
        out = self.stderr if printed else self.stdout
        for one in lines:
            out.write(one, style_func=str)


_STATUS: dict[PlanStatus, Callable[[], str]] = {
    PlanStatus.OPTIMAL: lambda: _("proven best schedule"),
    PlanStatus.FEASIBLE: lambda: _("schedule"),
    PlanStatus.IMPOSSIBLE: lambda: _("impossible"),
    PlanStatus.NONE_FOUND: lambda: _("no schedule found in the time"),
}


def _effort(given: dict[str, Any]) -> Effort:
    """Return the effort asked for; a wrong option is refused."""
    return Effort(
        seconds=_number(given, "seconds", 0, MOST_SECONDS),
        seed=_whole(given, "seed", 0, MOST_SEED),
        workers=_whole(given, "workers", 1, MOST_WORKERS),
        rounds=None if given["rounds"] is None else _whole(given, "rounds", 0, MOST_SEED),
        gap=_number(given, "gap", 0, 1),
    )


def _number(given: dict[str, Any], key: str, least: float, most: float) -> float:
    try:
        value = float(given[key])
    except (TypeError, ValueError):
        value = math.nan
    if not least <= value <= most:  # so is what is no number
        message = _("%(value)r: give a number from %(least)s to %(most)s")
        told = {"value": given[key], "least": least, "most": most}
        raise Refused(Problem(message % told, field=f"--{key}"))
    return value


def _whole(given: dict[str, Any], key: str, least: int, most: int) -> int:
    try:
        value = int(given[key])
    except (TypeError, ValueError):
        value = least - 1
    if not least <= value <= most:
        message = _("%(value)r: give a whole number from %(least)s to %(most)s")
        told = {"value": given[key], "least": least, "most": most}
        raise Refused(Problem(message % told, field=f"--{key}"))
    return value


def _outputs(given: dict[str, Any]) -> None:
    """Refuse outputs that would fail, or overwrite one another, before the search."""
    for key in ("json", "svg"):
        output_check(given[key], field=f"--{key}")
    if given["svg"] is not None and given["svg"] == given["json"]:
        message = _("%(name)r: is where the plan goes; name another file")
        raise Refused(Problem(message % {"name": given["svg"]}, field="--svg"))
    if given["start"] == "-" == given["file"]:
        message = _("'-': standard input is the week; name a file")
        raise Refused(Problem(message, field="--start"))
