"""Runs django-migration-linter over the project's own migrations (part of ``make lint``).

It finds what would break a shop that has data or a site that still runs the
release before: columns added NOT NULL, removed or renamed, data migrations
without a way back.  Each room's first migration makes its tables and is left
out: there is nothing that it could break.  Called from here so that the linter
need not be an installed app of the program.
"""

import logging
import os
import sys

import django


def main() -> int:
    """Return 1 where a migration is not safe, 0 otherwise."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    django.setup()
    # Imported late: it reads the settings when it is imported.
    from django_migration_linter import MigrationLinter  # noqa: PLC0415

    logging.getLogger("django_migration_linter").setLevel(logging.WARNING)
    linter = MigrationLinter(
        include_apps=["shop", "estimating", "scheduling"],
        ignore_initial_migrations=True,
        quiet=["ok", "ignore"],
        no_cache=True,
    )
    linter.lint_all_migrations()
    linter.print_summary()
    return int(linter.has_errors)


if __name__ == "__main__":
    sys.exit(main())
