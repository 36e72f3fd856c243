"""A backup shows one moment, whatever is written while it is made."""

from __future__ import annotations

import gzip
import io
import json
import threading

import pytest
from django.db import connection, transaction
from django.db.models import F

from shop.backup.make import backup_write
from shop.models import Counter, Customer
from tests.factories import NOW, ShopFactory

pytestmark = pytest.mark.django_db(transaction=True)


def in_file(file: io.BytesIO) -> dict[str, list[list]]:
    """Return the rows of each table, read by the format's description alone."""
    lines = gzip.decompress(file.getvalue()).splitlines()
    header, rest = json.loads(lines[0]), iter(lines[1:])
    return {
        table["table"]: [json.loads(next(rest)) for _ in range(table["rows"])]
        for table in header["tables"]
    }


def test_two_tables_agree_although_somebody_writes_between_them():
    shop = ShopFactory()
    Counter.objects.create(shop=shop, series="callers", value=0)
    wrong: list[BaseException] = []
    seen: list[str] = []

    def one_more() -> None:
        """A caller and the count of callers, in one transaction."""
        try:
            with transaction.atomic():
                Customer.objects.create(shop=shop, name="Caller", email="caller@example.org")
                Counter.objects.filter(series="callers").update(value=F("value") + 1)
        except BaseException as error:  # noqa: BLE001 -- shown by the test itself
            wrong.append(error)
        finally:
            connection.close()

    def tell(table: str, _rows: int) -> None:
        """Before each table somebody else writes, and has committed when it is read."""
        seen.append(table)
        if wrong:  # a writer that was kept out once would be kept out for each table
            return
        writer = threading.Thread(target=one_more)
        writer.start()
        writer.join(timeout=30)

    one_more()
    file = io.BytesIO()
    backup_write(file=file, now=NOW, tell=tell)
    assert wrong == []
    found = in_file(file)
    # Many were written before the customers were read, and more before the counters.
    assert Customer.objects.count() == len(seen) + 1 > 20
    assert seen.index("shop.customer") < seen.index("shop.counter")
    assert len(found["shop.customer"]) == 1
    # id, shop, series, value
    assert [row[3] for row in found["shop.counter"] if row[2] == "callers"] == [1]
