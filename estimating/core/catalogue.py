"""The catalogue: every figure of the trade the core uses, as rows of data."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields
from decimal import Decimal, InvalidOperation
from functools import cache, cached_property
from typing import Any, get_type_hints

from estimating.core import catalogue_prior as prior
from estimating.core import catalogue_rows as rows
from estimating.core.checks import RuleBroken, is_number

FORMAT = "halfmil-catalogue/1"


@dataclass(frozen=True)
class Catalogue:
    """All tables of a shop's catalogue; checked as a whole when made."""

    note: str
    bodies: tuple[rows.Body, ...]
    panel_kinds: tuple[rows.PanelKind, ...]
    body_panels: tuple[rows.BodyPanel, ...]
    wash_sizes: tuple[rows.WashSize, ...]
    levels: tuple[rows.Level, ...]
    passes: tuple[rows.LevelPass, ...]
    hardnesses: tuple[rows.Hardness, ...]
    defect_profiles: tuple[rows.DefectProfile, ...]
    spot_methods: tuple[rows.SpotMethod, ...]
    coating_systems: tuple[rows.CoatingSystem, ...]
    coating_layers: tuple[rows.CoatingLayer, ...]
    add_ons: tuple[rows.AddOn, ...]
    stages: tuple[rows.Stage, ...]
    usages: tuple[rows.Usage, ...]
    consumables: tuple[rows.Consumable, ...]
    technicians: tuple[rows.Technician, ...]
    prior_grades: tuple[prior.PriorGrade, ...]
    prior_ages: tuple[prior.PriorAge, ...]
    prior_shares: tuple[prior.PriorShare, ...]
    prior_questions: tuple[prior.PriorQuestion, ...]
    prior_answers: tuple[prior.PriorAnswer, ...]
    prior_defects: tuple[prior.PriorDefect, ...]
    policy: prior.FilmPolicy
    gauge: prior.Gauge
    film: prior.FilmSettings
    hours: prior.HoursModel

    def __post_init__(self) -> None:
        for table, key in _KEYS.items():
            _refuse_twice(table, [_key(row, key) for row in getattr(self, table)])
        for table, field, target in _REFERENCES:
            known = {row.code for row in getattr(self, target)}
            for row in getattr(self, table):
                _refuse_unknown(table, field, getattr(row, field), known, target)
        for name, total in _sums(self).items():
            if abs(total - 1) > 1e-6:
                raise RuleBroken(f"shares of {name} must add up to 1, not {total:.6g}")

    @cached_property
    def usages_of(self) -> Mapping[str, tuple[rows.Usage, ...]]:
        """Usage rows by stage."""
        found: dict[str, tuple[rows.Usage, ...]] = {}
        for row in self.usages:
            found[row.stage] = (*found.get(row.stage, ()), row)
        return found

    @cached_property
    def profile_of(self) -> Mapping[tuple[str, str], rows.DefectProfile]:
        """Defect profiles by kind and severity."""
        return {(row.kind, row.severity): row for row in self.defect_profiles}


_KEYS = {
    "bodies": ("code",),
    "panel_kinds": ("code",),
    "body_panels": ("body", "panel"),
    "wash_sizes": ("code",),
    "levels": ("code",),
    "passes": ("level", "order"),
    "hardnesses": ("code",),
    "defect_profiles": ("kind", "severity"),
    "spot_methods": ("kind", "method"),
    "coating_systems": ("code",),
    "coating_layers": ("system", "order"),
    "add_ons": ("code",),
    "stages": ("code",),
    "usages": ("stage", "consumable", "per"),
    "consumables": ("code",),
    "technicians": ("code",),
    "prior_grades": ("code",),
    "prior_ages": ("code",),
    "prior_shares": ("age", "grade"),
    "prior_questions": ("code",),
    "prior_answers": ("question", "code"),
    "prior_defects": ("grade", "surface", "kind"),
}

_REFERENCES = (
    ("body_panels", "body", "bodies"),
    ("body_panels", "panel", "panel_kinds"),
    ("passes", "level", "levels"),
    ("passes", "product", "consumables"),
    ("passes", "pad", "consumables"),
    ("coating_layers", "system", "coating_systems"),
    ("coating_layers", "product", "consumables"),
    ("usages", "consumable", "consumables"),
    ("prior_shares", "age", "prior_ages"),
    ("prior_shares", "grade", "prior_grades"),
    ("prior_answers", "question", "prior_questions"),
    ("prior_defects", "grade", "prior_grades"),
)


def _key(row: Any, key: tuple[str, ...]) -> tuple[Any, ...]:
    return tuple(getattr(row, field) for field in key)


def _refuse_twice(table: str, keys: list[tuple[Any, ...]]) -> None:
    seen: set[tuple[Any, ...]] = set()
    for key in keys:
        if key in seen:
            raise RuleBroken(f"{table} has {'/'.join(map(str, key))} twice")
        seen.add(key)


def _refuse_unknown(table: str, field: str, value: str, known: set[str], target: str) -> None:
    if value not in known:
        raise RuleBroken(f"{table}.{field} {value!r} is not a code in {target}")


def _sums(catalogue: Catalogue) -> dict[str, float]:
    totals: dict[str, float] = {f"age band {row.code}": 0.0 for row in catalogue.prior_ages}
    totals |= {f"question {row.code}": 0.0 for row in catalogue.prior_questions}
    for share_row in catalogue.prior_shares:
        totals[f"age band {share_row.age}"] += share_row.share
    for answer in catalogue.prior_answers:
        totals[f"question {answer.question}"] += answer.share
    return totals


def _row_type(hint: Any) -> type:
    arguments = getattr(hint, "__args__", ())
    found: type = arguments[0] if arguments else hint
    return found


def catalogue_from_dict(data: Mapping[str, Any]) -> Catalogue:
    """Read a catalogue of the format `halfmil-catalogue/1`.

    Parameters
    ----------
    data
        The parsed JSON object; money is given as text, so that no cent is lost.

    Raises
    ------
    RuleBroken
        With the table, the row and the rule that is broken.
    """
    if data.get("format") != FORMAT:
        raise RuleBroken(f"format must be {FORMAT!r}, not {data.get('format')!r}")
    hints = get_type_hints(Catalogue)
    unknown = set(data) - set(hints) - {"format"}
    if unknown:
        raise RuleBroken(f"unknown tables: {', '.join(sorted(unknown))}")
    values: dict[str, Any] = {"note": str(data.get("note", ""))}
    for name, hint in hints.items():
        if name == "note":
            continue
        if name not in data:
            raise RuleBroken(f"table {name} is missing")
        made = _row_type(hint)
        if made is hint:
            values[name] = row_from_dict(made, data[name], name)
        else:
            values[name] = tuple(
                row_from_dict(made, row, f"{name}[{index}]") for index, row in enumerate(data[name])
            )
    return Catalogue(**values)


def row_from_dict(made: type, row: Mapping[str, Any], where: str) -> Any:
    """Build one row from its JSON object, naming `where` in every refusal."""
    hints, optional = _columns(made)
    given = {key: value for key, value in row.items() if key != "note" or "note" in hints}
    if set(given) - set(hints) or set(hints) - set(given) - optional:
        odd = sorted((set(given) ^ set(hints)) - optional)
        raise RuleBroken(f"{where}: keys missing or unknown: {', '.join(odd)}")
    try:
        return made(**{key: _typed(hints[key], value) for key, value in given.items()})
    except (RuleBroken, InvalidOperation, TypeError) as error:
        raise RuleBroken(f"{where}: {error}") from error


@cache
def _columns(made: type) -> tuple[dict[str, Any], set[str]]:
    """Types of a row's fields, and the fields that may be left out.

    A key with a default may be missing, so that older snapshots stay readable. Types
    are written as text in the source, so reading them is slow: once for each table.
    """
    optional = {field.name for field in fields(made) if field.default is not MISSING}
    return get_type_hints(made), optional


def _typed(hint: Any, value: Any) -> Any:
    if hint is Decimal:
        if not isinstance(value, str):
            raise RuleBroken(f"money is written as text, not {value!r}")
        return Decimal(value)
    if hint is float:
        if not is_number(value):
            raise RuleBroken(f"a number is needed, not {value!r}")
        return float(value)
    if hint == tuple[str, ...]:
        return tuple(value)
    return value


def catalogue_to_dict(catalogue: Catalogue) -> dict[str, Any]:
    """Write a catalogue as the JSON object `catalogue_from_dict` reads."""
    written: dict[str, Any] = {"format": FORMAT}
    for field in fields(Catalogue):
        value = getattr(catalogue, field.name)
        if field.name == "note":
            written["note"] = value
        elif isinstance(value, tuple):
            written[field.name] = [row_to_dict(row) for row in value]
        else:
            written[field.name] = row_to_dict(value)
    return written


def row_to_dict(row: Any) -> dict[str, Any]:
    """Write one row as a JSON object; money becomes text."""
    return {field.name: _plain(getattr(row, field.name)) for field in fields(row)}


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal):
        return str(value)
    return list(value) if isinstance(value, tuple) else value


def catalogue_from_text(text: str) -> Catalogue:
    """Read a catalogue from JSON text."""
    return catalogue_from_dict(json.loads(text))
