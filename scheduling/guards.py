"""SQLite's refusal of overlapping holds; PostgreSQL has an exclusion constraint."""

from __future__ import annotations

from typing import Any, Final

from shop.triggers import lay_triggers

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
    statements = [_OVERLAP.format(when=when) for when in ("INSERT", "UPDATE")]
    lay_triggers(using, ("scheduling_hold",), {"sqlite": statements})
