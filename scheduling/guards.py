"""SQLite's refusal of overlapping holds; PostgreSQL has an exclusion constraint.

Laid after every migrate: SQLite drops a table's triggers whenever Django
rebuilds the table to alter a column.
"""

from __future__ import annotations

from typing import Any, Final

from django.db import connections

# Half-open: a hold may start at the minute another ends.
_OVERLAP: Final = """
CREATE TRIGGER IF NOT EXISTS hold_never_overlaps_{when}
BEFORE {when} ON scheduling_hold
WHEN EXISTS (
  SELECT 1 FROM scheduling_hold AS other
  WHERE other.resource_id = NEW.resource_id AND other.id IS NOT NEW.id
    AND other.start < NEW."end" AND NEW.start < other."end"
)
BEGIN SELECT RAISE(ABORT, 'hold_never_overlaps'); END
"""


def lay_guards(using: str, **_kwargs: Any) -> None:
    """Create the triggers where the database is SQLite and the table is there."""
    connection = connections[using]
    if connection.vendor != "sqlite":
        return
    if "scheduling_hold" not in connection.introspection.table_names():
        return
    with connection.cursor() as cursor:
        for when in ("INSERT", "UPDATE"):
            cursor.execute(_OVERLAP.format(when=when))
