"""The migrations end at what the models say, guards included.

On SQLite the suite makes its tables straight from the models, which is several
times quicker than running every migration; this is what allows it.
"""

import os
import re
import sqlite3
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
WITHOUT_MIGRATIONS = """
from django.conf import settings
from django.core.management import call_command

class NoMigrations:
    def __contains__(self, label): return True
    def __getitem__(self, label): return None

settings.MIGRATION_MODULES = NoMigrations()
call_command("migrate", run_syncdb=True, verbosity=0)
"""
MIGRATIONS = 'from django.core.management import call_command; call_command("migrate", verbosity=0)'


def schema_after(code: str, file: Path) -> dict[str, set[str]]:
    """Run ``code`` against a new database; return what it is made of, by kind."""
    run = f"import django; django.setup()\n{code}"
    environment = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "shop.settings",
        "HALFMIL_DATABASE_URL": f"sqlite:///{file}",
        "HALFMIL_VAR_DIR": str(file.parent),
    }
    subprocess.run([sys.executable, "-c", run], cwd=ROOT, env=environment, check=True)
    found: dict[str, set[str]] = {"column": set(), "constraint": set()}
    connection = sqlite3.connect(file)
    rows = connection.execute("SELECT type, name, tbl_name, sql FROM sqlite_master").fetchall()
    for kind, name, table, sql in rows:
        if table == "django_migrations" or name.startswith("sqlite_"):
            continue
        found.setdefault(kind, set()).add(name)
        if kind == "table":
            ask = "SELECT name, type, [notnull] FROM pragma_table_info(?)"
            columns = connection.execute(ask, (name,))
            found["column"] |= {f"{name}.{column}" for column in columns}
            found["constraint"] |= set(re.findall(r'CONSTRAINT "(\w+)"', sql))
    connection.close()
    return found


def test_models_and_migrations_make_the_same_database(tmp_path: Path) -> None:
    migrated = schema_after(MIGRATIONS, tmp_path / "migrated.sqlite3")
    made = schema_after(WITHOUT_MIGRATIONS, tmp_path / "made.sqlite3")
    assert migrated.keys() == made.keys() >= {"table", "column", "constraint", "index", "trigger"}
    for kind in migrated:
        assert migrated[kind] == made[kind], kind
