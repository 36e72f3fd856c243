"""From the core's refusals to the shop's, path by path."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.utils.translation import gettext as _

from estimating.core.checks import RuleBroken
from estimating.core.errors import InputRefused, shown
from estimating.core.errors import Problem as CoreProblem
from estimating.core.options import Options
from shop.refusals import Problem, Refused


def refused(error: InputRefused) -> Refused:
    """The same problems with the JSON path as the field; printed ``path: value: remedy``."""
    return Refused(*(Problem(_message(problem), field=problem.path) for problem in error.problems))


def _message(problem: CoreProblem) -> str:
    if isinstance(problem.value, Options):
        return problem.remedy  # it names the code that is wrong
    return f"{shown(problem.value)}: {problem.remedy}"


@contextmanager
def core_refusals(field: str = "") -> Iterator[None]:
    """Turn whatever a core refuses inside into :class:`Refused`.

    Parameters
    ----------
    field
        Names the place where the core itself names none.
    """
    try:
        yield
    except InputRefused as error:
        raise refused(error) from error
    except RuleBroken as error:
        raise Refused(Problem(str(error), field=field)) from error
    except (LookupError, StopIteration) as error:
        # Tables are checked as a whole when read, but a shop may have taken out
        # a row that only this vehicle needs.
        raise Refused(
            Problem(
                _("a row is missing that this vehicle needs (%s); add it.") % error,
                field="catalogue",
            )
        ) from error
