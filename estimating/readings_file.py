"""Readings as a gauge exports them: a table of panel, spot and reading, or a bare column.

``panel,spot,reading[,unit]``: one reading a line, the first line names the columns in
any order. Commas, semicolons or tabs part them; a decimal comma is understood where the
comma parts nothing. A bare column of numbers is laid along the walk round, three a spot.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from django.utils.translation import gettext as _

from estimating.core.inspection import LEAST_READINGS, MOST_READING_UM
from estimating.core.units import UNITS, film_text, from_um, to_um

MOST_BYTES: Final = 500_000
MOST_LINES: Final = 5_000
MOST_SPOT: Final = 200
_COLUMNS: Final = ("panel", "spot", "reading", "unit")
_NUMBER: Final = re.compile(r"[-+]?\d+(?:[.,]\d+)?")
_DECIMALS: Final = 5


@dataclass(frozen=True)
class LineProblem:
    """What is wrong in a file: where, what stands there, and what would be right."""

    line: int
    column: str
    value: str
    remedy: str

    def __str__(self) -> str:
        return _("Line %(line)d, %(column)s: “%(value)s”. %(remedy)s") % {
            "line": self.line,
            "column": self.column,
            "value": self.value[:40],
            "remedy": self.remedy,
        }


@dataclass
class ReadingsRead:
    """Spots of readings by panel, in the unit asked for; worth nothing beside a problem."""

    panels: dict[str, list[list[float]]] = field(default_factory=dict)
    problems: list[LineProblem] = field(default_factory=list)


def text_from(data: bytes) -> str:
    """The text of a file: UTF-8, or what gauges' programs write on older machines."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def readings_read(
    text: str, *, unit: str, names: Mapping[str, str], walk: Sequence[str], spots_each: int
) -> ReadingsRead:
    """Read a table, or a bare column of numbers.

    Parameters
    ----------
    unit
        ``mil`` or ``um``: what is given where the table says nothing, and what comes back.
    names
        Codes of panels by what they may be called, in lower case.
    walk
        Panels along which a bare column is laid.
    spots_each
        Spots on each of them.
    """
    lines = [
        (number, line.strip()) for number, line in enumerate(text.splitlines(), 1) if line.strip()
    ]
    read = ReadingsRead()
    if not lines:
        read.problems.append(
            LineProblem(1, "reading", "", _("Paste readings, or choose a file with some."))
        )
    elif len(lines) > MOST_LINES:
        remedy = _("Give at most %d lines at a time.") % MOST_LINES
        read.problems.append(LineProblem(MOST_LINES + 1, "reading", lines[MOST_LINES][1], remedy))
    elif _NUMBER.fullmatch(lines[0][1]):
        _column(lines, unit, walk, spots_each, read)
    else:
        _table(lines, unit, names, read)
    return read


def _column(
    lines: Sequence[tuple[int, str]],
    unit: str,
    walk: Sequence[str],
    spots_each: int,
    read: ReadingsRead,
) -> None:
    numbers = [_reading(number, line, unit, read.problems) for number, line in lines]
    each = LEAST_READINGS * spots_each
    if len(numbers) % LEAST_READINGS:
        number, line = lines[-1]
        left = len(numbers) % LEAST_READINGS
        remedy = _(
            "%(count)d readings make no whole spots of three; %(left)d too many or %(few)d too few."
        )
        given = {"count": len(numbers), "left": left, "few": LEAST_READINGS - left}
        read.problems.append(LineProblem(number, "reading", line, remedy % given))
    if len(numbers) > each * len(walk):
        number, line = lines[each * len(walk)]
        remedy = _(
            "The walk ends here: %(panels)d panels of %(each)d readings from the first one chosen."
        )
        given = {"panels": len(walk), "each": each}
        read.problems.append(LineProblem(number, "reading", line, remedy % given))
    if read.problems:
        return
    values = [value for value in numbers if value is not None]
    for panel, start in zip(walk, range(0, len(values), each), strict=False):
        here = values[start : start + each]
        read.panels[panel] = [
            here[at : at + LEAST_READINGS] for at in range(0, len(here), LEAST_READINGS)
        ]


def _table(
    lines: Sequence[tuple[int, str]], unit: str, names: Mapping[str, str], read: ReadingsRead
) -> None:
    number, head = lines[0]
    parts_at = next((sign for sign in (";", "\t", ",") if sign in head), ",")
    columns = [word.strip(' "').lower() for word in head.split(parts_at)]
    if sorted(columns) not in (sorted(_COLUMNS), sorted(_COLUMNS[:3])):
        remedy = _(
            "Name the columns in the first line: panel,spot,reading or panel,spot,reading,unit."
        )
        read.problems.append(LineProblem(number, "panel", head, remedy))
        return
    spots: dict[tuple[str, int], list[float]] = {}
    first: dict[tuple[str, int], tuple[int, str]] = {}
    for number, line in lines[1:]:
        words = [word.strip(' "') for word in line.split(parts_at)]
        if len(words) != len(columns):
            remedy = _("Give %(wanted)d columns, as the first line does; here are %(found)d.")
            given = {"wanted": len(columns), "found": len(words)}
            read.problems.append(LineProblem(number, columns[-1], line, remedy % given))
            continue
        row = dict(zip(columns, words, strict=True))
        found = _row(number, row, unit, names, read.problems)
        if found is not None:
            panel, spot, value = found
            spots.setdefault((panel, spot), []).append(value)
            first.setdefault((panel, spot), (number, row["spot"]))
    if not read.problems and not spots:
        read.problems.append(
            LineProblem(number, "reading", "", _("No reading follows the first line."))
        )
    if not read.problems:
        read.problems.extend(_short(spots, first))
    for (panel, _spot), values in spots.items():
        read.panels.setdefault(panel, []).append(values)


def _short(
    spots: Mapping[tuple[str, int], Sequence[float]],
    first: Mapping[tuple[str, int], tuple[int, str]],
) -> Iterable[LineProblem]:
    for key, values in spots.items():
        if len(values) < LEAST_READINGS:
            remedy = _("The spot that begins here has %(count)d readings; take at least %(least)d.")
            given = {"count": len(values), "least": LEAST_READINGS}
            yield LineProblem(first[key][0], "spot", first[key][1], remedy % given)


def _row(
    number: int,
    row: Mapping[str, str],
    unit: str,
    names: Mapping[str, str],
    problems: list[LineProblem],
) -> tuple[str, int, float] | None:
    before = len(problems)
    panel = names.get(row["panel"].lower())
    if panel is None:
        remedy = _(
            "No panel is called so; write it as on the sheet, such as hood or front left door."
        )
        problems.append(LineProblem(number, "panel", row["panel"], remedy))
    spot = int(row["spot"]) if row["spot"].isdecimal() else 0
    if not 1 <= spot <= MOST_SPOT:
        remedy = _("Number the spots of a panel from 1 to %d.") % MOST_SPOT
        problems.append(LineProblem(number, "spot", row["spot"], remedy))
    given = row.get("unit", "").lower().replace("µ", "u").replace("μ", "u") or unit
    if given not in UNITS:
        problems.append(LineProblem(number, "unit", row["unit"], _("Use mil or um.")))
        return None
    value = _reading(number, row["reading"], given, problems)
    if len(problems) > before or panel is None or value is None:
        return None
    if given != unit:
        value = round(from_um(to_um(value, given), unit), _DECIMALS)
    return panel, spot, value


def _reading(number: int, text: str, unit: str, problems: list[LineProblem]) -> float | None:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value) or not 0 < to_um(value, unit) <= MOST_READING_UM:
        remedy = _("Give a reading above 0, at most %s.") % film_text(MOST_READING_UM, unit)
        problems.append(LineProblem(number, "reading", text, remedy))
        return None
    return value
