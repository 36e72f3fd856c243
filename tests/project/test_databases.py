"""Both databases are set up as the records need them."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.apps import apps
from django.db import connection

ROOT = Path(__file__).resolve().parents[2]
ASK = """
import sqlite3
from django.db import connection, transaction
with connection.cursor() as cursor:
    for name in ("journal_mode", "foreign_keys", "synchronous"):
        print(name, *cursor.execute(f"PRAGMA {name}").fetchone())
with transaction.atomic():
    other = sqlite3.connect(connection.settings_dict["NAME"], timeout=0)
    try:
        other.execute("BEGIN IMMEDIATE")
        print("free")
    except sqlite3.OperationalError as error:
        print(error)
"""


def test_sqlite_has_a_log_references_and_takes_the_lock_at_once(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "manage.py", "shell", "-v0", "-c", ASK],
        cwd=ROOT,
        env={
            **os.environ,
            "HALFMIL_DATABASE_URL": f"sqlite:///{tmp_path / 'a shop.sqlite3'}",
            "HALFMIL_VAR_DIR": str(tmp_path),
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.splitlines() == [
        "journal_mode wal",
        "foreign_keys 1",
        "synchronous 1",
        "database is locked",
    ], done.stderr


@pytest.mark.postgres
@pytest.mark.django_db
def test_the_second_pass_runs_on_postgresql() -> None:
    assert connection.vendor == "postgresql"
    assert apps.is_installed("django.contrib.postgres")
    with connection.cursor() as cursor:
        cursor.execute("select current_database()")
        assert cursor.fetchone()[0].startswith("test_")
