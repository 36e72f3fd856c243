"""The database notes by itself what changed in a shop's calendar.

Every insert, change or removal of a hold writes in the same transaction between when and
when; every one of a resource, shift, absence, closure, opening hour or the shop's own row
that everything may have changed. ``scheduling/services/calendar_kept.py`` reads it.

Laid after every migrate on both databases, because SQLite drops a table's triggers whenever
Django rebuilds the table.
"""

from __future__ import annotations

from typing import Any, Final

from shop.triggers import lay_triggers

_HOLDS: Final = "scheduling_hold"
_OF_RESOURCE: Final = "(SELECT shop_id FROM scheduling_resource WHERE id = {row}.resource_id)"
_SHOP_OF: Final = {
    "scheduling_resource": "{row}.shop_id",
    "scheduling_shift": _OF_RESOURCE,
    "scheduling_absence": _OF_RESOURCE,
    "scheduling_calendarpolicy": "{row}.shop_id",
    "shop_closure": "{row}.shop_id",
    "shop_openinghours": "{row}.shop_id",
    "shop_shop": "{row}.id",
}
"""How the row of a table names its shop."""
_EVENTS: Final = {"INSERT": ("NEW",), "UPDATE": ("OLD", "NEW"), "DELETE": ("OLD",)}


_NOTE: Final = """
INSERT INTO scheduling_calendarchange (shop_id, start, "end", writer, token, at)
SELECT found.shop_id, {times}, {stamp} FROM (SELECT {shop} AS shop_id) AS found
WHERE found.shop_id IS NOT NULL;
"""
_SQLITE_STAMP: Final = "0, random(), strftime('%Y-%m-%d %H:%M:%f', 'now')"
_SQLITE: Final = """
CREATE TRIGGER IF NOT EXISTS {table}_calendar_{event}
AFTER {event} ON {table} BEGIN {body} END
"""
_POSTGRES_STAMP: Final = """
pg_current_xact_id()::text::bigint, (random() * 9007199254740991)::bigint, clock_timestamp()
"""
_POSTGRES_ROWS: Final = (
    """
    CREATE OR REPLACE FUNCTION {table}_calendar() RETURNS trigger AS $$ BEGIN
    IF TG_OP IN ('UPDATE', 'DELETE') THEN {old} END IF;
    IF TG_OP IN ('INSERT', 'UPDATE') THEN {new} END IF;
    RETURN NULL;
    END $$ LANGUAGE plpgsql
    """,
    "DROP TRIGGER IF EXISTS {table}_calendar ON {table}",
    """
    CREATE TRIGGER {table}_calendar AFTER INSERT OR UPDATE OR DELETE ON {table}
    FOR EACH ROW EXECUTE FUNCTION {table}_calendar()
    """,
)
# One note for a statement, not one for each hold of a booking.
_POSTGRES_HOLDS: Final = (
    """
    CREATE OR REPLACE FUNCTION scheduling_hold_calendar_{event}() RETURNS trigger AS $$ BEGIN
    INSERT INTO scheduling_calendarchange (shop_id, start, "end", writer, token, at)
    SELECT shop_id, min(start), max("end"), {stamp} FROM ({changed}) AS changed GROUP BY shop_id;
    RETURN NULL;
    END $$ LANGUAGE plpgsql
    """,
    "DROP TRIGGER IF EXISTS scheduling_hold_calendar_{event} ON scheduling_hold",
    """
    CREATE TRIGGER scheduling_hold_calendar_{event} AFTER {event} ON scheduling_hold
    REFERENCING {named} FOR EACH STATEMENT EXECUTE FUNCTION scheduling_hold_calendar_{event}()
    """,
)
_CHANGED: Final = {
    "INSERT": "SELECT * FROM new_holds",
    "UPDATE": "SELECT * FROM old_holds UNION ALL SELECT * FROM new_holds",
    "DELETE": "SELECT * FROM old_holds",
}


def watch_calendars(using: str, **_kwargs: Any) -> None:
    """Lay the triggers on every table of the calendar that is there."""
    statements = {"postgresql": _on_postgresql(), "sqlite": _on_sqlite()}
    lay_triggers(using, ("scheduling_calendarchange", _HOLDS, *_SHOP_OF), statements)


def _on_sqlite() -> list[str]:
    statements = []
    for table in (_HOLDS, *_SHOP_OF):
        for event, rows in _EVENTS.items():
            body = "".join(_note(table, row, _SQLITE_STAMP) for row in rows)
            statements.append(_SQLITE.format(table=table, event=event.lower(), body=body))
    return statements


def _note(table: str, row: str, stamp: str) -> str:
    times = f'{row}.start, {row}."end"' if table == _HOLDS else "NULL, NULL"
    shop = _SHOP_OF.get(table, "{row}.shop_id").format(row=row)
    return _NOTE.format(times=times, stamp=stamp, shop=shop)


def _on_postgresql() -> list[str]:
    statements = []
    for table in _SHOP_OF:
        old, new = (_note(table, row, _POSTGRES_STAMP) for row in ("OLD", "NEW"))
        statements += [one.format(table=table, old=old, new=new) for one in _POSTGRES_ROWS]
    for event, rows in _EVENTS.items():
        words = {
            "event": event.lower(),
            "named": " ".join(f"{row} TABLE AS {row.lower()}_holds" for row in rows),
            "changed": _CHANGED[event],
            "stamp": _POSTGRES_STAMP,
        }
        statements += [one.format(**words) for one in _POSTGRES_HOLDS]
    return statements
