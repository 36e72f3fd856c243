"""PostgreSQL refuses two holds of one resource that overlap.

SQLite gets triggers instead, from ``scheduling/guards.py``: they are laid after
every migrate, because SQLite drops a table's triggers whenever Django rebuilds
the table.
"""

from django.db import migrations

EXCLUDE = """
ALTER TABLE scheduling_hold ADD CONSTRAINT hold_never_overlaps
EXCLUDE USING gist (resource_id WITH =, tstzrange(start, "end", '[)') WITH &&)
"""


def add(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("CREATE EXTENSION IF NOT EXISTS btree_gist")
        schema_editor.execute(EXCLUDE)


def remove(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("ALTER TABLE scheduling_hold DROP CONSTRAINT hold_never_overlaps")


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0001_initial")]
    operations = [migrations.RunPython(add, remove)]
