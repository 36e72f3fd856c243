"""Runs django-migration-linter over the project's own migrations (part of ``make lint``).

It finds what would break a shop that has data or a site that still runs the
release before: columns removed or renamed, data migrations without a way back.
Columns added NOT NULL that the database would not fill are looked for here: on
SQLite the linter calls every table that Django rebuilds one of those.  Each
room's first migration makes its tables and is left out: there is nothing that it
could break.  Called from here so that the linter need not be an installed app of
the program.
"""

import logging
import os
import sys

import django

APPS = ["shop", "estimating", "scheduling"]


def main() -> int:
    """Return 1 where a migration is not safe, 0 otherwise."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    django.setup()
    # Imported late: it reads the settings when it is imported.
    from django_migration_linter import MigrationLinter  # noqa: PLC0415

    logging.getLogger("django_migration_linter").setLevel(logging.WARNING)
    linter = MigrationLinter(
        include_apps=APPS,
        ignore_initial_migrations=True,
        quiet=["ok", "ignore"],
        no_cache=True,
        exclude_migration_tests=["NOT_NULL"],
        # Its unique rules on shifts ask less than the one that they take the place of.
        ignore_name=["0003_shift_patterns_and_overtime"],
    )
    linter.lint_all_migrations()
    linter.print_summary()
    unsafe = columns_without_a_default()
    for line in unsafe:
        sys.stdout.write(f"{line}: NOT NULL without a db_default\n")
    return int(linter.has_errors or bool(unsafe))


def columns_without_a_default() -> list[str]:
    """Columns that a later migration adds NOT NULL and that the database would not fill."""
    from django.db.migrations import AddField, CreateModel  # noqa: PLC0415
    from django.db.migrations.loader import MigrationLoader  # noqa: PLC0415
    from django.db.models.fields import NOT_PROVIDED  # noqa: PLC0415

    found = []
    for (app, name), migration in MigrationLoader(None).disk_migrations.items():
        operations = migration.operations if app in APPS else []
        made = {one.name_lower for one in operations if isinstance(one, CreateModel)}
        for operation in operations:
            if not isinstance(operation, AddField) or migration.initial:
                continue
            if operation.model_name_lower in made:
                continue  # a table that is new has no rows
            field = operation.field
            if not (field.null or field.many_to_many or field.db_default is not NOT_PROVIDED):
                found.append(f"{app} {name} {operation.model_name}.{operation.name}")
    return found


if __name__ == "__main__":
    sys.exit(main())
