"""SQLite to SQLite, to PostgreSQL and back again: every row as it was, every rule in force."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest

from tests import reachable
from tests.shop.backup.ways import BACKUP, FILL, PRINT, READY, RESTORE, TRY, run


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("moving")


@pytest.fixture(scope="module")
def postgres_url() -> Iterator[str]:
    """An empty database on the real server, dropped afterwards."""
    url, reason = reachable.postgres()
    if reason:
        (pytest.fail if reachable.required() else pytest.skip)(reason)
    name = f"halfmil_moving_{os.getpid()}"
    with psycopg.connect(url, autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name}")
        try:
            yield url.rsplit("/", 1)[0] + f"/{name}"
        finally:
            server.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture(scope="module")
def source(folder: Path) -> Path:
    """A filled shop on SQLite, its backup and its rows in print."""
    code = READY + FILL + BACKUP + PRINT
    return moved(folder, "source", f"sqlite:///{folder / 'source.sqlite3'}", code)


def moved(folder: Path, name: str, url: str, code: str, file: Path | None = None) -> Path:
    """Run ``code`` on a database; its backup is ``name.gz``, its rows are ``name.json``."""
    made, out = folder / f"{name}.gz", folder / f"{name}.json"
    code = code.replace("{renumber}", str(file is not None)).replace("{out!r}", repr(str(out)))
    code = code.replace("{file!r}", repr(str(file or made)), 1).replace("{file!r}", repr(str(made)))
    run(code, url, folder)
    return made


def rows(folder: Path, name: str) -> dict[str, list[str]]:
    found = json.loads((folder / f"{name}.json").read_text())
    # Stays behind on purpose.
    assert len(found.pop("sessions.Session")) == (name == "source")
    assert found.pop("scheduling.CalendarChange")
    assert len(found["scheduling.Hold"]) > 10
    assert found["admin.LogEntry"]
    return dict(found)


def test_sqlite_to_sqlite(folder, source):
    url = f"sqlite:///{folder / 'copy.sqlite3'}"
    moved(folder, "copy", url, READY + RESTORE + PRINT, source)
    assert rows(folder, "copy") == rows(folder, "source")


def test_to_postgresql_and_back_with_every_rule_in_force(folder, source, postgres_url):
    there = moved(folder, "there", postgres_url, READY + RESTORE + BACKUP + PRINT, source)
    assert rows(folder, "there") == rows(folder, "source")
    url = f"sqlite:///{folder / 'back.sqlite3'}"
    moved(folder, "back", url, READY + RESTORE + PRINT, there)
    assert rows(folder, "back") == rows(folder, "source")
    for name, where in (("there", postgres_url), ("back", url)):
        moved(folder, f"{name}-tried", where, READY.replace("{renumber}", "False") + TRY, there)
        said = json.loads((folder / f"{name}-tried.json").read_text())
        assert "hold_never_overlaps" in said["overlap"]
        assert "snapshot" in said["quote"]
        assert (said["next"], said["sessions"]) == (1, 0)
