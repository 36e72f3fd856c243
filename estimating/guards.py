"""SQLite's refusal to change a quote; PostgreSQL has the same rule by migration."""

from __future__ import annotations

from typing import Any, Final

from shop.triggers import lay_triggers

FROZEN: Final = (
    "shop_id", "number", "version", "customer_id", "vehicle_id", "currency",
    "price", "price_p10", "price_p50", "price_p90", "tax", "margin",
    "created_at", "valid_until", "request", "parameters", "estimate",
    "operations", "materials",
)  # fmt: skip


def lay_guards(using: str, **_kwargs: Any) -> None:
    """Create the trigger where the database is SQLite and the table is there."""
    changed = " OR ".join(f"OLD.{name} IS NOT NEW.{name}" for name in FROZEN)
    statement = (
        "CREATE TRIGGER IF NOT EXISTS quote_is_a_snapshot BEFORE UPDATE ON estimating_quote "
        f"WHEN {changed} BEGIN SELECT RAISE(ABORT, 'quote_is_a_snapshot'); END"
    )
    lay_triggers(using, ("estimating_quote",), {"sqlite": (statement,)})
