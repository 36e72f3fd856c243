"""Which core row lies in which table, and how one is made from the other.

Fields have the same names on both sides, so the mapping is a list of pairs.
Decimals go through as they are: a figure that a column cannot hold exactly is
refused, never rounded.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields
from decimal import Decimal
from functools import cache
from typing import Any, Final, get_type_hints

from django.db import models
from django.utils.translation import gettext as _

from estimating.core import catalogue_prior, catalogue_rows
from shop import models as tables
from shop.refusals import Problem, Refused


@dataclass(frozen=True)
class Table:
    """One table of a catalogue: its name there, its row in the core, its model."""

    name: str
    row: type
    model: type[tables.CatalogueRow]


TABLES: Final = (
    Table("bodies", catalogue_rows.Body, tables.BodyClass),
    Table("panel_kinds", catalogue_rows.PanelKind, tables.PanelKind),
    Table("body_panels", catalogue_rows.BodyPanel, tables.BodyPanel),
    Table("wash_sizes", catalogue_rows.WashSize, tables.WashSize),
    Table("levels", catalogue_rows.Level, tables.CorrectionLevel),
    Table("passes", catalogue_rows.LevelPass, tables.LevelPass),
    Table("hardnesses", catalogue_rows.Hardness, tables.PaintHardness),
    Table("defect_profiles", catalogue_rows.DefectProfile, tables.DefectProfile),
    Table("spot_methods", catalogue_rows.SpotMethod, tables.SpotMethod),
    Table("coating_systems", catalogue_rows.CoatingSystem, tables.CoatingSystem),
    Table("coating_layers", catalogue_rows.CoatingLayer, tables.CoatingLayer),
    Table("add_ons", catalogue_rows.AddOn, tables.AddOn),
    Table("stages", catalogue_rows.Stage, tables.Stage),
    Table("usages", catalogue_rows.Usage, tables.Usage),
    Table("technicians", catalogue_rows.Technician, tables.TechnicianClass),
    Table("prior_grades", catalogue_prior.PriorGrade, tables.PriorGrade),
    Table("prior_ages", catalogue_prior.PriorAge, tables.PriorAge),
    Table("prior_shares", catalogue_prior.PriorShare, tables.PriorShare),
    Table("prior_questions", catalogue_prior.PriorQuestion, tables.PriorQuestion),
    Table("prior_answers", catalogue_prior.PriorAnswer, tables.PriorAnswer),
    Table("prior_defects", catalogue_prior.PriorDefect, tables.PriorDefect),
)

# Single figures, one row of CatalogueSetting for each group. What must stay on a
# vehicle (the policy) is no setting: it stands on the shop itself.
SETTINGS: Final = {
    "film": catalogue_prior.FilmSettings,
    "hours": catalogue_prior.HoursModel,
    "gauge": catalogue_prior.Gauge,
}
NOTE: Final = "note"


def row_values(row: Any) -> dict[str, Any]:
    """The columns of one core row."""
    made: type = type(row)
    return {
        name: list(value) if isinstance(value := getattr(row, name), tuple) else value
        for name in names_of(made)
    }


def row_made(made: type, values: Iterable[Any]) -> Any:
    """A core row from its columns as a driver gives them, in the order of :func:`names_of`."""
    pairs = zip(_readers_of(made), values, strict=True)
    return made(*(value if read is None else read(value) for read, value in pairs))


@cache
def names_of(row: type) -> tuple[str, ...]:
    """Names of the fields of a core row."""
    return tuple(field.name for field in fields(row))


@cache
def _readers_of(row: type) -> tuple[Callable[[Any], Any] | None, ...]:
    hints = get_type_hints(row)
    return tuple(_READERS.get(hints[name]) for name in names_of(row))


def _amount(value: Any) -> Decimal:
    # SQLite keeps decimals as numbers; the shortest text that gives the same number
    # is what was stored, since no column has more than 15 digits.
    return value if isinstance(value, Decimal) else Decimal(repr(value))


def _words(value: Any) -> tuple[str, ...]:
    return tuple(json.loads(value) if isinstance(value, str) else value)


_READERS: Final[dict[Any, Callable[[Any], Any]]] = {
    Decimal: _amount,
    tuple[str, ...]: _words,
    bool: bool,  # 0 and 1 in SQLite
    float: float,
}


def refuse_inexact(model: type[models.Model], values: dict[str, Any], where: str) -> None:
    """Refuse an amount that its column would round or has no room for.

    Raises
    ------
    Refused
        With the table and the field in the problem's ``field``.
    """
    for name, value in values.items():
        column = model._meta.get_field(name)
        if not isinstance(column, models.DecimalField) or not isinstance(value, Decimal):
            continue
        places = column.decimal_places or 0
        whole_digits = (column.max_digits or 0) - places
        exact = value == round(value, places)
        if not exact or abs(value) >= Decimal(10) ** whole_digits:
            raise Refused(
                Problem(
                    _("%(value)s; at most %(whole)s digits before and %(places)s after the point.")
                    % {"value": value, "whole": whole_digits, "places": places},
                    field=f"{where}.{name}",
                )
            )
