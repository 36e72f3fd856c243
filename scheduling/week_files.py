"""Weeks and plans in files that somebody named on a command line."""

from __future__ import annotations

import json
import os
from pathlib import Path

from django.utils.translation import gettext as _

from estimating.files import file_bytes
from scheduling.core.check import check_plan
from scheduling.core.formats import WeekRefused, plan_to_data, read_plan, read_week
from scheduling.core.problem import Plan, Week
from shop.refusals import Problem, Refused


def week_read(name: str) -> Week:
    """Return the week of a file, or of standard input for ``-``.

    Raises
    ------
    Refused
        It cannot be read, or is no week: JSON path, value and remedy.
    """
    data = file_bytes(name)
    try:
        return read_week(data)
    except WeekRefused as error:
        raise Refused(str(error)) from error


def plan_read(name: str, *, field: str) -> Plan:
    """Return the plan of a file, or of standard input for ``-``.

    Parameters
    ----------
    field
        The option or argument that named it, for the refusal.

    Raises
    ------
    Refused
        It cannot be read, or is no plan: JSON path, value and remedy.
    """
    try:
        return read_plan(file_bytes(name))
    except WeekRefused as error:
        raise Refused(Problem(str(error), field=field)) from error
    except Refused as error:
        raise Refused(*(Problem(one.message, field=field) for one in error.problems)) from error


def start_read(name: str, week: Week) -> Plan:
    """Return the plan that a search begins with.

    Raises
    ------
    Refused
        It is no plan, or breaks a rule of this week: a line for each violation.
    """
    plan = plan_read(name, field="--start")
    broken = check_plan(week, plan)
    if broken:
        remedy = _("%(subject)s: %(text)s; give a plan of this week that holds, or leave it out")
        raise Refused(
            *(
                Problem(remedy % {"subject": one.subject, "text": one.text}, field="--start")
                for one in broken
            )
        )
    return plan


def plan_text(plan: Plan) -> str:
    """Return the plan as a ``halfmil-plan/1`` file."""
    return json.dumps(plan_to_data(plan), indent=1, allow_nan=False) + "\n"


def output_check(name: str | None, *, field: str) -> None:
    """Refuse an output that could not be written, before any time is spent on its content.

    Raises
    ------
    Refused
        It is a directory, or its directory is missing or may not be written to.
    """
    if name is None or name == "-":
        return
    why = _why_not(name)
    if why:
        message = _("%(name)r: %(why)s; name a file that can be written")
        raise Refused(Problem(message % {"name": name, "why": why}, field=field))


def _why_not(name: str) -> str:
    if "\0" in name:
        return _("has a null character in its name")
    try:
        target = Path(name)
        if target.is_dir():
            return _("is a directory")
        if target.exists() and not target.is_file():
            return ""  # a device or a pipe
        if not os.access(target.parent, os.W_OK | os.X_OK):
            return _("its directory does not exist or may not be written to")
    except (OSError, ValueError) as error:
        return getattr(error, "strerror", None) or str(error)
    return ""
