"""Write a backup while the shop goes on working: one snapshot, row by row."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import IO, Any, Final

from django.db import DEFAULT_DB_ALIAS, connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.recorder import MigrationRecorder
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from shop.backup.container import FORMAT, Writer
from shop.backup.tables import Table, tables
from shop.backup.values import Names, encoded
from shop.refusals import Problem, Refused

Tell = Callable[[str, int], None]
"""Is told the name and the number of rows of each table that comes next."""
_AT_A_TIME: Final = 500
"""Rows in memory; the widest (a quote with its estimate) are some tens of kilobytes."""


def backup_make(
    *,
    path: Path,
    now: datetime,
    tell: Tell,
    overwrite: bool = False,
    using: str = DEFAULT_DB_ALIAS,
) -> int:
    """Write all records to ``path``, which appears only when it is whole; return the rows.

    Raises
    ------
    Refused
        The file is there already, cannot be written, or the database is not migrated.
    """
    if path.exists() and not overwrite:
        raise Refused(
            Problem(_("is there already; choose another name or add --overwrite."), str(path))
        )
    part = path.with_name(path.name + ".part")
    try:
        # Password hashes and customers are in it: for its owner's eyes alone.
        part.touch(mode=0o600)
        with part.open("wb") as file:
            rows = backup_write(file=file, now=now, tell=tell, using=using)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError as error:
        raise Refused(
            Problem(_("cannot be written: %s.") % (error.strerror or error), str(path))
        ) from error
    finally:
        part.unlink(missing_ok=True)
    return rows


def backup_write(
    *, file: IO[bytes], now: datetime, tell: Tell, using: str = DEFAULT_DB_ALIAS
) -> int:
    """Write all records to an open file as they are at one moment; return the number of rows."""
    connection = connections[using]
    carried = tables()
    refuse_unless_migrated(connection, carried)
    writer = Writer(file)
    with _snapshot(connection):
        counts = [_rows(table, using).count() for table in carried]
        writer.line(_header(connection, carried, counts, now))
        names = Names(using)
        for table, count in zip(carried, counts, strict=True):
            tell(table.name, count)
            attributes = [field.attname for field in table.fields]
            found = _rows(table, using).values_list(*attributes)
            for row in found.iterator(chunk_size=_AT_A_TIME):
                pairs = zip(table.fields, row, strict=True)
                writer.line([encoded(field, value, names) for field, value in pairs])
    writer.close(sum(counts))
    return sum(counts)


def refuse_unless_migrated(connection: BaseDatabaseWrapper, carried: list[Table]) -> None:
    """Refuse a database in which one of our tables is missing."""
    with connection.cursor() as cursor:
        there = set(connection.introspection.table_names(cursor))
    missing = [table.name for table in carried if table.model._meta.db_table not in there]
    if missing:
        raise Refused(
            _("The database has no table for %s; run manage.py migrate first.") % missing[0]
        )


def applied_migrations(connection: BaseDatabaseWrapper) -> dict[str, list[str]]:
    """Return the names of the applied migrations by app."""
    found: dict[str, list[str]] = {}
    for app, name in sorted(MigrationRecorder(connection).applied_migrations()):
        found.setdefault(app, []).append(name)
    return found


def _header(
    connection: BaseDatabaseWrapper, carried: list[Table], counts: list[int], now: datetime
) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "app": _version(),
        "made_at": now.isoformat(),
        "database": connection.vendor,
        "migrations": applied_migrations(connection),
        "tables": [
            {"table": table.name, "columns": table.columns, "rows": count}
            for table, count in zip(carried, counts, strict=True)
        ],
    }


def _version() -> str:
    try:
        return version("halfmil")
    except PackageNotFoundError:
        return "unknown"


def _rows(table: Table, using: str) -> QuerySet[Any]:
    # Not the model's own manager, which may hide rows.
    return QuerySet(table.model, using=using).order_by("pk")


@contextmanager
def _snapshot(connection: BaseDatabaseWrapper) -> Iterator[None]:
    """Read everything inside as it was at one moment, and hold nobody up."""
    if connection.vendor == "postgresql":
        with transaction.atomic(using=connection.alias, durable=True):
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
        return
    with connection.cursor() as cursor:
        # Not atomic(), which takes SQLite's write lock here: with a write-ahead log a
        # plain BEGIN reads one state while others write on.
        cursor.execute("BEGIN DEFERRED")
        try:
            yield
        finally:
            cursor.execute("ROLLBACK")
