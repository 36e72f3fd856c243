"""Saving one row so that every rule of its model is answered with a refusal by field."""

from __future__ import annotations

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db import IntegrityError, models, transaction
from django.utils.translation import gettext as _

from shop.refusals import Conflict, Problem, Refused


def row_save(row: models.Model, *problems: Problem) -> None:
    """Check ``row`` as a whole and save it.

    Race: two people save the same VIN or name at once; both checks pass and the
    database's constraint stops the second.

    Parameters
    ----------
    problems
        What the caller found already; they replace the model's words at their fields.

    Raises
    ------
    Refused
        A field or a rule of the model is broken; all of them are named.
    Conflict
        Somebody else saved a row that excludes this one.
    """
    spoken_for = {problem.field for problem in problems}
    found = [problem for problem in row_problems(row) if problem.field not in spoken_for]
    if problems or found:
        raise Refused(*problems, *found)
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError as error:
        raise Conflict(
            _("Somebody else has just saved the same; look at the list again.")
        ) from error


def row_problems(row: models.Model) -> list[Problem]:
    """What is wrong with ``row``; a rule about no single field has an empty field name."""
    try:
        row.full_clean()
    except ValidationError as error:
        return [
            Problem(str(message), field="" if field == NON_FIELD_ERRORS else field)
            for field, messages in error.message_dict.items()
            for message in messages
        ]
    return []
