"""Read a backup into a database: everything, or nothing."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import IO, Any, Final

from django.contrib.sessions.models import Session
from django.core.management.color import no_style
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Model, QuerySet
from django.utils.translation import gettext as _

from shop.backup.container import Reader, damaged
from shop.backup.make import Tell, applied_migrations, refuse_unless_migrated
from shop.backup.tables import Table, column_of, tables
from shop.backup.values import Names, decoded
from shop.refusals import Problem, Refused

_AT_A_TIME: Final = 500
Plan = list[tuple[Table, int]]
"""Tables in the order of the file, each with its number of rows."""


def backup_restore(
    *, path: Path, tell: Tell, replace: bool = False, using: str = DEFAULT_DB_ALIAS
) -> int:
    """Write a backup's records into a migrated database; return the number of rows.

    The file is read twice: to its digest before anything is written, then for its rows.

    Raises
    ------
    Refused
        The file is damaged, newer, of other tables or another migration; the database is
        not empty and ``replace`` was not given; a row breaks a rule of the database.
    """
    try:
        with path.open("rb") as file:
            return _restore(file, tell, replace, using)
    except OSError as error:
        raise Refused(
            Problem(_("cannot be read: %s.") % (error.strerror or error), str(path))
        ) from error


def _restore(file: IO[bytes], tell: Tell, replace: bool, using: str) -> int:
    connection = connections[using]
    reader = Reader(file)
    known = tables()
    refuse_unless_migrated(connection, known)
    plan = _plan(reader.header, known)
    _refuse_other_migrations(reader.header, connection)
    for table, count in plan:
        for _row in reader.rows(count, len(table.fields)):
            pass
    digest = reader.end()
    with transaction.atomic(using=using, durable=True), _refusals():
        _make_room(connection, known, replace)
        again = Reader(file)
        names = Names(using)
        for table, count in plan:
            tell(table.name, count)
            _insert(table, again.rows(count, len(table.fields)), names, connection)
        if again.end() != digest:
            raise damaged(_("it changed while it was read"))
        _finish(plan, connection)
    return sum(count for _table, count in plan)


def _plan(header: dict[str, Any], known: list[Table]) -> Plan:
    """Match the file's tables with ours, both ways and column by column."""
    ours = {table.name: table for table in known}
    plan: Plan = []
    try:
        given = [(one["table"], one["columns"], one["rows"]) for one in header["tables"]]
        if not all(isinstance(rows, int) and rows >= 0 for _name, _columns, rows in given):
            raise damaged(_("its header cannot be read"))
    except (KeyError, TypeError) as error:
        raise damaged(_("its header cannot be read")) from error
    for name, columns, rows in given:
        table = ours.pop(name, None)
        if table is None:
            raise _other_version(header, _("the table %s, unknown here or named twice") % name)
        unknown = [column for column in columns if column not in table.columns]
        if unknown:
            raise _other_version(header, _("the unknown column %s.%s") % (name, unknown[0]))
        by_column = {column_of(field): field for field in table.fields}
        if len(columns) != len(by_column) or set(columns) != set(by_column):
            lacking = sorted(set(by_column) - set(columns))
            raise _other_version(header, _("not the columns of %s: %s") % (name, lacking))
        fields = tuple(by_column[column] for column in columns)
        plan.append((Table(name, table.model, fields), rows))
    if ours:
        raise _other_version(header, _("no table %s") % min(ours))
    return plan


def _refuse_other_migrations(header: dict[str, Any], connection: BaseDatabaseWrapper) -> None:
    here = applied_migrations(connection)
    given = header.get("migrations")
    if not isinstance(given, dict):
        raise damaged(_("its header cannot be read"))
    for app in sorted({*here, *given}):
        more = [name for name in given.get(app, []) if name not in here.get(app, [])]
        if more:
            raise _other_version(header, _("the migration %s.%s") % (app, more[0]))
        less = [name for name in here.get(app, []) if name not in given.get(app, [])]
        if less:
            raise _other_version(header, _("not yet the migration %s.%s") % (app, less[0]))


def _other_version(header: dict[str, Any], what: str) -> Refused:
    return Refused(
        _(
            "The file has %(what)s. Restore it with the version that made it (%(app)s), then "
            "update the program and run manage.py migrate. Nothing was written."
        )
        % {"what": what, "app": header.get("app", "unknown")}
    )


def _make_room(connection: BaseDatabaseWrapper, known: list[Table], replace: bool) -> None:
    """Refuse a database with records, or empty it where that was asked for."""
    # A site that is running must not write between our look and our commit. On SQLite
    # the transaction has the only write lock anyway.
    if connection.vendor == "postgresql":
        locked = ", ".join(_quoted(connection, table.model) for table in known)
        with connection.cursor() as cursor:
            cursor.execute(f"LOCK TABLE {locked} IN SHARE ROW EXCLUSIVE MODE")
    filled = [table for table in known if _all(table, connection).exists()]
    if filled and not replace:
        raise Refused(
            _(
                "The database is not empty: %s has rows. Give an empty one, or add --replace "
                "to delete everything in it first."
            )
            % filled[0].name
        )
    with connection.cursor() as cursor:
        for table in reversed(known):
            _empty(cursor, _quoted(connection, table.model))
        # Keys of people are given anew: nobody stays signed in as somebody else.
        _empty(cursor, _quoted(connection, Session))
    if connection.vendor == "postgresql":
        # Guards that wait for the end look now: rows of the same keys are about to come back.
        connection.check_constraints()


def _insert(
    table: Table, rows: Iterator[list[Any]], names: Names, connection: BaseDatabaseWrapper
) -> None:
    """Insert a table's rows as they are; no ``save``, which would stamp them with today."""
    target = _quoted(connection, table.model)
    columns = ", ".join(connection.ops.quote_name(name) for name in table.columns)
    marks = ", ".join(["%s"] * len(table.fields))
    insert = f"INSERT INTO {target} ({columns}) VALUES ({marks})"  # noqa: S608 -- our own names
    number = 0
    with connection.cursor() as cursor:
        # What triggers wrote here for rows of other tables: the file has the true rows.
        _empty(cursor, target)
        while chunk := list(islice(rows, _AT_A_TIME)):
            values = []
            for row in chunk:
                number += 1
                values.append(_values(table, row, number, names, connection))
            try:
                cursor.executemany(insert, values)
            except (DatabaseError, ValueError) as error:
                place = f"{table.name} {number - len(chunk) + 1}–{number}"
                raise _broken(place, error) from error


def _values(
    table: Table, row: list[Any], number: int, names: Names, connection: BaseDatabaseWrapper
) -> list[Any]:
    values = []
    for field, value in zip(table.fields, row, strict=True):
        try:
            values.append(decoded(field, value, names, connection))
        except ValueError as error:
            raise _broken(f"{table.name} {number} {field.column}", error) from error
    return values


def _finish(plan: Plan, connection: BaseDatabaseWrapper) -> None:
    """Check references and counts, and let new rows be numbered after the last."""
    connection.check_constraints()
    for table, count in plan:
        found = _all(table, connection).count()
        if found != count:
            raise damaged(f"{table.name}: {found} != {count}")
    models = [table.model for table, _count in plan]
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), models):
            cursor.execute(statement)


@contextmanager
def _refusals() -> Iterator[None]:
    try:
        yield
    except DatabaseError as error:
        raise _broken(_("the records together"), error) from error


def _broken(place: str, error: Exception) -> Refused:
    said = " ".join(str(error).split())
    return Refused(
        Problem(
            _("%s. The database refuses these rows, so nothing was written; take another copy.")
            % said,
            place,
        )
    )


def _empty(cursor: Any, target: str) -> None:
    cursor.execute(f"DELETE FROM {target}")  # noqa: S608 -- the quoted name of our own table


def _all(table: Table, connection: BaseDatabaseWrapper) -> QuerySet[Any]:
    return QuerySet(table.model, using=connection.alias)


def _quoted(connection: BaseDatabaseWrapper, model: type[Model]) -> str:
    return connection.ops.quote_name(model._meta.db_table)
