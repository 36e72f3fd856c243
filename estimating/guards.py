"""SQLite's refusal to change a quote; PostgreSQL has the same rule by migration.

Laid after every migrate: SQLite drops a table's triggers whenever Django
rebuilds the table to alter a column.
"""

from __future__ import annotations

from typing import Any, Final

from django.db import connections

FROZEN: Final = (
    "shop_id", "number", "version", "customer_id", "vehicle_id", "currency",
    "price", "price_p10", "price_p50", "price_p90", "tax", "margin",
    "created_at", "valid_until", "request", "parameters", "estimate",
    "operations", "materials",
)  # fmt: skip


def lay_guards(using: str, **_kwargs: Any) -> None:
    """Create the trigger where the database is SQLite and the table is there."""
    connection = connections[using]
    if connection.vendor != "sqlite":
        return
    if "estimating_quote" not in connection.introspection.table_names():
        return
    changed = " OR ".join(f"OLD.{name} IS NOT NEW.{name}" for name in FROZEN)
    with connection.cursor() as cursor:
        cursor.execute(
            "CREATE TRIGGER IF NOT EXISTS quote_is_a_snapshot BEFORE UPDATE ON estimating_quote "
            f"WHEN {changed} BEGIN SELECT RAISE(ABORT, 'quote_is_a_snapshot'); END"
        )
