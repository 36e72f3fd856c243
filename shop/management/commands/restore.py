"""``manage.py restore``: a backup into an empty database, of either kind."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from shop.backup.restore import backup_restore
from shop.refusals import Refused

REFUSED = 2


class Command(BaseCommand):
    """Restores a backup."""

    help = (
        "Read FILE, made by manage.py backup, into a database that has been migrated and is "
        "empty. Everything or nothing; the digest is checked before anything is written."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Add the file and what may be lost."""
        parser.add_argument("file", metavar="FILE", type=Path, help="a halfmil-backup/1 file")
        parser.add_argument(
            "--replace", action="store_true", help="delete everything in the database first"
        )

    def handle(self, *_args: Any, **given: Any) -> None:
        """Restore and say how much it was."""
        try:
            rows = backup_restore(path=given["file"], tell=self._tell, replace=given["replace"])
        except Refused as refused:
            self.stderr.write(str(refused))
            sys.exit(REFUSED)
        self.stdout.write(f"{rows:,} rows restored. Everybody signs in anew.")

    def _tell(self, table: str, rows: int) -> None:
        if rows:
            self.stderr.write(f"{rows:>9,}  {table}", style_func=str)
