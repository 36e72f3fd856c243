"""Several files in one call: each answered by itself, the refused ones told and counted."""

import io
import json
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.models import Shop
from tests.factories import document


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, age_months in (("b", 24), ("a", 4), ("d", 60)):
        made = document(vehicle={"body": "pickup", "age_months": age_months})
        (tmp_path / f"{name}.json").write_text(json.dumps(made), encoding="utf-8")
    (tmp_path / "c.json").write_text('{"format": "none"}', encoding="utf-8")
    (tmp_path / "notes.txt").write_text("not an inspection", encoding="utf-8")
    return tmp_path


def run(*arguments: str) -> tuple[str, list[str], Any]:
    out, err = io.StringIO(), io.StringIO()
    status: Any = 0
    try:
        call_command("estimate", *arguments, stdout=out, stderr=err)
    except SystemExit as left:
        status = left.code
    return out.getvalue(), err.getvalue().splitlines(), status


def test_a_line_for_each_file_of_a_directory_in_order_of_name(shop: Shop, folder: Path) -> None:
    out, err, status = run(str(folder), "--json")
    lines = [json.loads(line) for line in out.splitlines()]
    assert [line and line["format"] for line in lines] == [
        "halfmil-estimate/1", "halfmil-estimate/1", None, "halfmil-estimate/1",
    ]  # fmt: skip
    assert status == 2
    assert all(line.startswith(f"{folder / 'c.json'}: $") for line in err)
    assert err


def test_the_same_answers_as_one_by_one(shop: Shop, folder: Path) -> None:
    names = [str(folder / name) for name in ("d.json", "a.json")]
    out, err, status = run(*names, "--json")
    assert (err, status) == ([], 0)
    single = [json.loads(run(name, "--json")[0]) for name in names]
    assert [json.loads(line) for line in out.splitlines()] == single


def test_text_names_its_file(shop: Shop, folder: Path) -> None:
    out, _err, _status = run(str(folder / "a.json"), str(folder / "b.json"))
    assert [line for line in out.splitlines() if line.startswith("== ")] == [
        f"== {folder / 'a.json'}",
        f"== {folder / 'b.json'}",
    ]


def test_tables_are_read_once(shop: Shop, folder: Path) -> None:
    counts = []
    for names in (["a"], ["a", "b", "d"]):
        with CaptureQueriesContext(connection) as queries:
            run(*(str(folder / f"{name}.json") for name in names), "--json")
        counts.append(len(queries))
    assert counts[0] == counts[1] > 20


def test_a_picture_of_many_is_refused(shop: Shop, folder: Path) -> None:
    with pytest.raises(CommandError, match="one file") as refused:
        run(str(folder), "--svg", str(folder / "out.svg"))
    assert refused.value.returncode == 2
    assert not (folder / "out.svg").exists()
