"""A file that cannot be trusted is refused with its reason before anything is written."""

from __future__ import annotations

import gzip
import hashlib
import io
import json

import pytest

from shop.backup.make import backup_write
from shop.backup.restore import backup_restore
from shop.models import Customer, Shop
from shop.refusals import Refused
from tests.factories import NOW, CustomerFactory

pytestmark = pytest.mark.django_db(transaction=True)


def silent(_table: str, _rows: int) -> None:
    pass


def packed(lines: list[bytes], *, digest: str = "") -> bytes:
    """Pack lines with a right digest, or the one that is given."""
    body = b"".join(line + b"\n" for line in lines)
    trailer = {"rows": 0, "sha256": digest or hashlib.sha256(body).hexdigest()}
    return gzip.compress(body + json.dumps(trailer).encode() + b"\n")


def with_header(lines: list[bytes], change) -> bytes:
    header = json.loads(lines[0])
    change(header)
    return packed([json.dumps(header).encode(), *lines[1:]])


def first_row(lines: list[bytes], table: str) -> int:
    at = 1
    for one in json.loads(lines[0])["tables"]:
        if one["table"] == table:
            return at
        at += one["rows"]
    raise AssertionError(table)


def with_row(lines: list[bytes], table: str, place: int, value) -> bytes:
    at = first_row(lines, table)
    row = json.loads(lines[at])
    row[place] = value
    return packed([*lines[:at], json.dumps(row).encode(), *lines[at + 1 :]])


def named(header, name):
    return next(one for one in header["tables"] if one["table"] == name)


WRONG = {
    "no gzip": (lambda whole, lines: b"{}", "no backup of Halfmil"),
    "empty": (lambda whole, lines: b"", "ends too early"),
    "another format": (lambda whole, lines: packed([b'{"format": "x/1"}']), "no backup of Halfmil"),
    "newer": (
        lambda whole, lines: with_header(lines, lambda h: h.update(format="halfmil-backup/2")),
        "halfmil-backup/2; this version reads halfmil-backup/1",
    ),
    "cut off": (lambda whole, lines: whole[: len(whole) * 2 // 3], "ends too early"),
    "cut between lines": (
        lambda whole, lines: gzip.compress(b"\n".join(lines) + b"\n"),
        "ends too early",
    ),
    "one bit": (
        lambda whole, lines: packed(lines, digest="0" * 64),
        "SHA-256 is .* and should be 000000000000",
    ),
    "a row more": (lambda whole, lines: packed([*lines, lines[-1]]), "more rows than the header"),
    "something behind": (lambda whole, lines: whole + gzip.compress(b"x"), "follows its end"),
    "unknown table": (
        lambda whole, lines: with_header(
            lines, lambda h: named(h, "auth.group").update(table="shop.x")
        ),
        "the table shop.x, unknown here",
    ),
    "a table less": (
        lambda whole, lines: with_header(
            lines, lambda h: h["tables"].remove(named(h, "auth.group"))
        ),
        "no table auth.group",
    ),
    "unknown column": (
        lambda whole, lines: with_header(
            lines, lambda h: named(h, "shop.customer")["columns"].__setitem__(2, "nick")
        ),
        "unknown column shop.customer.nick",
    ),
    "later migration": (
        lambda whole, lines: with_header(lines, lambda h: h["migrations"].update(shop=["9999_x"])),
        "migration shop.9999_x",
    ),
    "no reference": (
        lambda whole, lines: with_row(lines, "shop.customer", 1, 99),
        "records together: .*shop_id",
    ),
    "no moment": (
        lambda whole, lines: with_row(lines, "shop.customer", -1, "soon"),
        "shop.customer 1 created_at: .*soon",
    ),
    "no value": (
        lambda whole, lines: with_row(lines, "shop.shop", 1, None),
        "shop.shop 1–1: .*(NOT NULL|not-null)",
    ),
}  # fmt: skip


@pytest.fixture
def whole() -> bytes:
    """A good backup of a small shop, which is gone again."""
    CustomerFactory()
    file = io.BytesIO()
    backup_write(file=file, now=NOW, tell=silent)
    Customer.objects.all().delete()
    Shop.objects.all().delete()
    return file.getvalue()


def test_each_kind_of_wrong_file_and_then_the_right_one(whole, tmp_path):
    path = tmp_path / "shop.gz"
    lines = gzip.decompress(whole).splitlines()[:-1]
    for name, (spoil, said) in WRONG.items():
        path.write_bytes(spoil(whole, lines))
        with pytest.raises(Refused, match=said):
            backup_restore(path=path, tell=silent)
        assert not Shop.objects.exists(), name
    path.write_bytes(whole)
    assert backup_restore(path=path, tell=silent) == 2
    assert Shop.objects.count() == 1
