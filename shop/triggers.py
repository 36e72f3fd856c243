"""Rules and watches that a database keeps as triggers.

Laid after every migrate: SQLite drops a table's triggers whenever Django rebuilds the table
to alter a column, and rebuilds none that a trigger of another table names.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db import connections


def lay_triggers(
    using: str, tables: Iterable[str], statements: Mapping[str, Sequence[str]]
) -> None:
    """Run the statements for the database's kind, where all the tables are there.

    Parameters
    ----------
    statements
        By ``vendor`` of the connection; a kind that is left out needs none. They may be run
        again on what is laid already.
    """
    connection = connections[using]
    mine = statements.get(connection.vendor, ())
    if not mine or not set(tables) <= set(connection.introspection.table_names()):
        return
    with connection.cursor() as cursor:
        for statement in mine:
            cursor.execute(statement)


def lift_triggers(using: str, plan: Any = (), **_kwargs: Any) -> None:
    """Before migrations that are to be applied: take all of SQLite's away.

    Every room lays its own again when the migrations are through.
    """
    connection = connections[using]
    if connection.vendor != "sqlite" or not plan:
        return
    with connection.cursor() as cursor:
        cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        for (name,) in cursor.fetchall():
            cursor.execute(f"DROP TRIGGER {connection.ops.quote_name(name)}")
