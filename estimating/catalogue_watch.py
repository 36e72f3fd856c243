"""The database notes by itself that a shop's catalogue changed.

Every insert, change or removal of a catalogue row, by whatever way, gives the
shop's counter ``catalogue`` a new random value in the same transaction. Random,
not the next number: after a roll-back the next number would come a second time
for other rows. ``estimating/catalogue_kept.py`` reads it.

Laid after every migrate on both databases, so that a new catalogue table is
watched without anybody thinking of it, and because SQLite drops a table's
triggers whenever Django rebuilds the table.
"""

from __future__ import annotations

from typing import Any, Final

from django.apps import apps
from django.db import connections

from shop.models import CatalogueRow

SERIES: Final = "catalogue"

_SQLITE_VALUE = "abs(random() % 2147483647)"
_POSTGRES_VALUE = "floor(random() * 2147483647)::int"

_NEW_VALUE = """
INSERT INTO shop_counter (shop_id, series, value) VALUES (NEW.shop_id, 'catalogue', {value})
ON CONFLICT (shop_id, series) DO UPDATE SET value = excluded.value;
"""
# Only an update: a row that goes has been inserted before, so the counter is there;
# and emptying all tables, counters first, must not bring one back.
_GONE_VALUE = """
UPDATE shop_counter SET value = {value} WHERE shop_id = OLD.shop_id AND series = 'catalogue';
"""


def watch_catalogues(using: str, **_kwargs: Any) -> None:
    """Lay the triggers on every catalogue table that is there."""
    connection = connections[using]
    present = set(connection.introspection.table_names())
    tables = [
        model._meta.db_table
        for model in apps.get_models()
        if issubclass(model, CatalogueRow) and model._meta.db_table in present
    ]
    if not tables or "shop_counter" not in present:
        return
    lay = _on_postgresql if connection.vendor == "postgresql" else _on_sqlite
    with connection.cursor() as cursor:
        for statement in lay(tables):
            cursor.execute(statement)


def _on_sqlite(tables: list[str]) -> list[str]:
    new, gone = _NEW_VALUE.format(value=_SQLITE_VALUE), _GONE_VALUE.format(value=_SQLITE_VALUE)
    events = {"INSERT": new, "UPDATE": new, "DELETE": gone}
    return [
        f"CREATE TRIGGER IF NOT EXISTS {table}_tells_{event.lower()} "
        f"AFTER {event} ON {table} BEGIN {body} END"
        for table in tables
        for event, body in events.items()
    ]


def _on_postgresql(tables: list[str]) -> list[str]:
    new = _NEW_VALUE.format(value=_POSTGRES_VALUE)
    gone = _GONE_VALUE.format(value=_POSTGRES_VALUE)
    statements = [
        f"""
        CREATE OR REPLACE FUNCTION shop_catalogue_changed() RETURNS trigger AS $$ BEGIN
        IF TG_OP = 'DELETE' THEN {gone} RETURN OLD; END IF;
        {new} RETURN NEW;
        END $$ LANGUAGE plpgsql
        """
    ]
    for table in tables:
        statements += [
            f"DROP TRIGGER IF EXISTS {table}_tells ON {table}",
            f"""
            CREATE TRIGGER {table}_tells AFTER INSERT OR UPDATE OR DELETE ON {table}
            FOR EACH ROW EXECUTE FUNCTION shop_catalogue_changed()
            """,
        ]
    return statements
