"""``manage.py backup``: all records of the shop into one file, while it works on."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from shop.backup.make import backup_make
from shop.refusals import Refused

REFUSED = 2


class Command(BaseCommand):
    """Writes a backup."""

    help = (
        "Write every record to FILE (halfmil-backup/1), as they are at one moment; the shop may "
        "work on. Password hashes go along, sessions and the secret key do not."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Add the file."""
        parser.add_argument("file", metavar="FILE", type=Path, help="such as shop.halfmil.gz")
        parser.add_argument("--overwrite", action="store_true", help="replace an older file")

    def handle(self, *_args: Any, **given: Any) -> None:
        """Write and say how much it was."""
        path: Path = given["file"]
        try:
            rows = backup_make(
                path=path, now=timezone.now(), tell=self._tell, overwrite=given["overwrite"]
            )
        except Refused as refused:
            self.stderr.write(str(refused))
            sys.exit(REFUSED)
        self.stdout.write(f"{path}: {rows:,} rows, {path.stat().st_size:,} bytes.")

    def _tell(self, table: str, rows: int) -> None:
        if rows:
            self.stderr.write(f"{rows:>9,}  {table}", style_func=str)
