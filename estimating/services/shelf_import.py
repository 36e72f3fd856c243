"""What stands on the shelf, from a table that a spreadsheet saved as CSV.

Columns ``code, unit_cost, on_hand`` and, where they are known, ``name, unit, purchase_size,
reorder_point, lot_size, lead_days``; in any order, under these names in the first line. A
known code is brought up to date, an unknown one is added and needs name and unit.
"""

from __future__ import annotations

import csv
import io
from decimal import Decimal, InvalidOperation
from typing import Any, Final

from django.db import transaction
from django.utils.translation import gettext as _

from shop.models import Consumable, Shop
from shop.refusals import Problem, Refused
from shop.services.checked import row_problems

MOST_BYTES: Final = 500_000
MOST_LINES: Final = 2_000
NEEDED: Final = ("code", "unit_cost", "on_hand")
KNOWN: Final = (
    *NEEDED, "name", "unit", "purchase_size", "reorder_point", "lot_size", "lead_days",
)  # fmt: skip
_EXACT: Final = frozenset({"unit_cost", "on_hand"})
_PLAIN: Final = frozenset({"purchase_size", "reorder_point", "lot_size", "lead_days"})
_NEW: Final[dict[str, Any]] = {
    "purchase_size": 1.0, "reorder_point": 0.0, "lot_size": 1.0, "lead_days": 7,
}  # fmt: skip


@transaction.atomic
def shelf_import(*, shop: Shop, content: bytes) -> int:
    """Read a table into the shelf; return how many items were written.

    Raises
    ------
    Refused
        Every wrong line by number, column and value; nothing is written then.
    """
    lines = _lines(content)
    held = {row.code: row for row in Consumable.objects.of(shop).select_for_update()}
    problems: list[Problem] = []
    rows: list[Consumable] = []
    seen: set[str] = set()
    for number, line in lines:
        code = line.get("code", "").strip()
        if code in seen:
            problems.append(_wrong(number, "code", code, _("it stands twice in the table")))
            continue
        seen.add(code)
        row = held.get(code) or Consumable(shop=shop, code=code, **_NEW)
        wrong = _fill(row, line, number)
        problems += wrong or [
            _wrong(number, found.field, line.get(found.field, ""), found.message)
            for found in row_problems(row)
        ]
        rows.append(row)
    if problems:
        raise Refused(*problems)
    for row in rows:
        row.active = True
        row.save()
    return len(rows)


def _lines(content: bytes) -> list[tuple[int, dict[str, str]]]:
    if len(content) > MOST_BYTES:
        raise Refused(Problem(_("The file is larger than %s kB.") % (MOST_BYTES // 1000), "file"))
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Refused(Problem(_("The file is not UTF-8; save it as CSV UTF-8."), "file")) from error
    first = text.partition("\n")[0]
    reader = csv.DictReader(io.StringIO(text), delimiter=";" if ";" in first else ",")
    heads = [(name or "").strip() for name in reader.fieldnames or ()]
    reader.fieldnames = heads
    missing = [name for name in NEEDED if name not in heads]
    unknown = [name for name in heads if name not in KNOWN]
    if missing or unknown:
        message = _("The first line needs %(needed)s and may have %(known)s; found %(found)s.")
        facts = {"needed": ", ".join(NEEDED), "known": ", ".join(KNOWN), "found": ", ".join(heads)}
        raise Refused(Problem(message % facts, "file"))
    found = [(number, _cells(line)) for number, line in enumerate(reader, start=2)]
    if not 0 < len(found) <= MOST_LINES:
        raise Refused(
            Problem(_("The table has %s lines; 1 to 2000 can be read.") % len(found), "file")
        )
    return found


def _cells(line: dict[Any, Any]) -> dict[str, str]:
    return {name: value for name, value in line.items() if name and isinstance(value, str)}


def _fill(row: Consumable, line: dict[str, str], number: int) -> list[Problem]:
    problems = []
    for name in KNOWN:
        text = line.get(name, "").strip()
        if name == "code" or not text:
            continue
        value: Any = text
        if name in _EXACT | _PLAIN:
            value = _number(text)
            if value is None:
                problems.append(_wrong(number, name, text, _("write a number of at least 0")))
                continue
            if name in _PLAIN:
                value = int(value) if name == "lead_days" else float(value)
        setattr(row, name, value)
    return problems


def _number(text: str) -> Decimal | None:
    try:
        value = Decimal(text.replace(",", ".") if "." not in text else text)
    except InvalidOperation:
        return None
    return value if value.is_finite() and value >= 0 else None


def _wrong(number: int, column: str, value: str, remedy: str) -> Problem:
    facts = {"line": number, "column": column, "value": value, "remedy": remedy}
    return Problem(_("Line %(line)s, %(column)s %(value)r: %(remedy)s") % facts, "file")
