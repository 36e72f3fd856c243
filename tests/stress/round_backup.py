"""A backup while others write: it shows one moment, and what it restores is the same row by row.

Writers add a caller and count callers in one transaction. A backup under way is restored into
a fresh SQLite database, where both must agree; one made when the writers have stopped must
hold every row of every table of the PostgreSQL it came from.
"""

from __future__ import annotations

import json
import os
import tempfile
import threading
from pathlib import Path
from typing import Any

from django.db import connection, transaction
from django.db.models import F
from django.utils import timezone

from shop.backup.make import backup_make
from shop.models import Counter, Customer, Shop
from tests.scheduling.selectors.busy import busy_shop
from tests.shop.backup import ways
from tests.stress.report import StressReport

SERIES = "callers"
COUNTS = """
from shop.models import Counter, Customer
found = {"callers": Customer.objects.filter(name="Stress").count(),
         "counted": Counter.objects.get(series="callers").value}
Path({out!r}).write_text(json.dumps(found))
"""


def run(report: StressReport, short: bool) -> bool:
    """Write, back up, restore, compare."""
    shop = busy_shop(2 if short else 20)[0].shop
    Counter.objects.create(shop=shop, series=SERIES, value=0)
    with tempfile.TemporaryDirectory(prefix="halfmil backup ") as name:
        folder = Path(name)
        moving = folder / "moving.halfmil"
        written = _backup_under_writes(shop, moving, least=50 if short else 2_000)
        report.note(f"{written} callers were written while the backup was made and around it")
        counts = _restored(moving, folder / "moving.sqlite3", folder, COUNTS)
        ok = report.equal(
            "restored: callers against their count", counts["callers"], counts["counted"]
        )
        ok &= report.figure(
            "callers in the backup", counts["callers"], f"1 to {written}",
            ok=0 < counts["callers"] <= written,
        )  # fmt: skip
        still = folder / "still.halfmil"
        backup_make(path=still, now=timezone.now(), tell=_nothing)
        there = _restored(still, folder / "still.sqlite3", folder, ways.PRINT)
        here = _printed(folder)
        return ok & _same(report, here, there)


def _nothing(_table: str, _rows: int) -> None:
    """Nobody is told."""


def _backup_under_writes(shop: Shop, path: Path, least: int) -> int:
    """Back up in the middle of many writes; return how many there were."""
    stop, some = threading.Event(), threading.Event()
    written = [0] * 4
    wrong: list[BaseException] = []

    def write(number: int) -> None:
        try:
            while not stop.is_set():
                with transaction.atomic():
                    Customer.objects.create(shop=shop, name="Stress", email="s@example.org")
                    Counter.objects.filter(series=SERIES).update(value=F("value") + 1)
                written[number] += 1
                if sum(written) >= least:
                    some.set()
        except BaseException as error:  # noqa: BLE001 -- told by the round
            wrong.append(error)
            some.set()
        finally:
            connection.close()

    writers = [threading.Thread(target=write, args=(number,)) for number in range(len(written))]
    for writer in writers:
        writer.start()
    some.wait(timeout=120)
    backup_make(path=path, now=timezone.now(), tell=_nothing)
    stop.set()
    for writer in writers:
        writer.join(timeout=60)
    if wrong:
        raise wrong[0]
    return sum(written)


def _restored(file: Path, database: Path, folder: Path, code: str) -> dict[str, Any]:
    """Restore into a fresh database and return what a program printed of it."""
    out = folder / "out.json"
    program = ways.READY.format(renumber=False) + ways.RESTORE.format(file=str(file))
    ways.run(program + code.replace("{out!r}", repr(str(out))), f"sqlite:///{database}", folder)
    found: dict[str, Any] = json.loads(out.read_text())
    return found


def _printed(folder: Path) -> dict[str, Any]:
    """What the same program prints of the database that was backed up."""
    out = folder / "out.json"
    program = ways.READY.format(renumber=False) + ways.PRINT.replace("{out!r}", repr(str(out)))
    ways.run(program, os.environ["HALFMIL_DATABASE_URL"], folder)
    found: dict[str, Any] = json.loads(out.read_text())
    return found


def _same(report: StressReport, here: dict[str, Any], there: dict[str, Any]) -> bool:
    # Sessions, the log of changes and the tables of migrations are each database's own.
    own = {"sessions.Session", "scheduling.CalendarChange", "migrations.Migration"}
    differ = sorted(
        name for name in here.keys() | there.keys() if here.get(name) != there.get(name)
    )
    rows = sum(len(lines) for lines in here.values() if isinstance(lines, list))
    report.note(f"{rows} rows in {len(here)} tables were compared one by one")
    return report.equal("tables that differ", [name for name in differ if name not in own], [])
