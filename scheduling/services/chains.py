"""A job's operations as the chain that the core places, and its reasons in words."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _

from estimating.models import Quote
from scheduling.core.fit import Chain, Reason, Why
from scheduling.core.problem import Mode
from scheduling.core.problem import Operation as Step
from scheduling.core.values import ProblemError
from scheduling.services.horizon import Horizon
from scheduling.services.when import moment_text
from shop.models import Attendance, Operation
from shop.refusals import Refused


def operations_of_quote(quote: Quote) -> list[Operation]:
    """Return the operations of a quote's snapshot as rows that are not saved."""
    return [Operation(**fields) for fields in quote.operations]


def chain_of(operations: Sequence[Operation]) -> Chain:
    """Return the chain of a job; the calendar keeps ``planned_minutes`` for each operation.

    Raises
    ------
    Refused
        There is nothing to place, or an operation contradicts itself.
    """
    if not operations:
        raise Refused(_("There is no work to plan: the quote has no operations."))
    try:
        return Chain(tuple(step_of(row) for row in operations))
    except ProblemError as error:
        raise Refused(_("The work cannot be planned: %s") % error) from error


def step_of(row: Operation) -> Step:
    """Return one operation as the core wants it; its identifier is its place in the order."""
    attended = row.attendance != Attendance.UNATTENDED
    return Step(
        id=str(row.sequence),
        name=row.name,
        spot_cap=row.bay_capability,
        modes=(Mode(row.planned_minutes, row.lamps),),
        crew=row.crew_count,
        skill=row.skill if attended else None,
        pausable=row.attendance == Attendance.PAUSABLE,
        same_spot=row.same_bay,
        lag_min=row.lag_min_minutes,
        lag_max=row.lag_max_minutes,
    )


def reason_text(reason: Reason, operations: Sequence[Operation], horizon: Horizon) -> str:
    """Say for a person of the shop why a chain cannot be placed."""
    by_sequence = {str(row.sequence): row for row in operations}
    row = by_sequence[reason.op_id]
    facts = {
        "work": row.name,
        "bay": row.bay_capability,
        "skill": row.skill,
        "count": row.crew_count,
        "lamps": row.lamps,
        "minutes": row.planned_minutes,
        "lag": row.lag_max_minutes,
        "until": moment_text(horizon.moment(horizon.resources.horizon), horizon.shop),
    }
    return _SENTENCES[reason.why]() % facts


# Functions, so that the sentence is in the language of whoever asks.
_SENTENCES = {
    Why.NO_SPOT: lambda: _("%(work)s: no bay of the shop can do “%(bay)s”."),
    Why.NO_SKILL: lambda: _("%(work)s: needs %(count)s trained for “%(skill)s”; there are fewer."),
    Why.NO_LAMP: lambda: _("%(work)s: needs %(lamps)s lamps; the shop has fewer."),
    Why.NO_WINDOW: lambda: _(
        "%(work)s: takes %(minutes)s minutes; no shift of people trained for “%(skill)s” "
        "is long enough."
    ),
    Why.NO_OPENING: lambda: _(
        "%(work)s: takes %(minutes)s minutes; the shop is never open that long."
    ),
    Why.LAG: lambda: _(
        "%(work)s: must start within %(lag)s minutes of the work before it, and no day allows that."
    ),
    Why.FROZEN: lambda: _("%(work)s: cannot be done at the time and place it is held to."),
    Why.HORIZON: lambda: _("%(work)s: cannot be done before %(until)s, where the calendar ends."),
    Why.FULL: lambda: _("%(work)s: everything is booked until %(until)s."),
}
