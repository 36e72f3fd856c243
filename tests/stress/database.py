"""Databases of a stress run's own: made, copied for each round, dropped."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import psycopg
from psycopg import sql


def named(url: str, name: str) -> str:
    """Return the URL of another database of the same server."""
    address, question, options = url.partition("?")
    return f"{address.rpartition('/')[0]}/{name}{question}{options}"


@contextmanager
def database(server: str, name: str, *, template: str = "template1") -> Iterator[str]:
    """Make a database, give its URL, and drop it with whoever is still connected."""
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(
            sql.SQL("create database {} template {}").format(
                sql.Identifier(name), sql.Identifier(template)
            )
        )
    try:
        yield named(server, name)
    finally:
        with psycopg.connect(server, autocommit=True) as connection:
            connection.execute(
                sql.SQL("drop database if exists {} with (force)").format(sql.Identifier(name))
            )
