"""``--explain`` prints where numbers come from; ``--svg OUT`` draws, or leaves OUT alone."""

import io
import json
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from django.core.management import call_command

from shop.models import Shop
from tests.factories import document, fender, stocked_shop


@pytest.fixture
def file(tmp_path: Path) -> str:
    path = tmp_path / "inspection.json"
    path.write_text(json.dumps(document()), encoding="utf-8")
    return str(path)


def run(*arguments: str) -> str:
    out = io.StringIO()
    call_command("estimate", *arguments, stdout=out)
    return out.getvalue()


def refused(*arguments: str) -> str:
    err = io.StringIO()
    with pytest.raises(SystemExit) as left:
        call_command("estimate", *arguments, stderr=err)
    assert left.value.code == 2
    return err.getvalue()


def test_explained_with_the_shops_own_rates(shop: Shop, file: str) -> None:
    stocked_shop(slug="dear", labour_rate=99)
    assert f"hours at P50 × {shop.labour_rate}" in run(file, "--explain")
    assert "hours at P50 × 99" in run(file, "--explain", "--shop", "dear")


def test_a_sheet_with_a_strip_for_each_panel(shop: Shop, file: str, tmp_path: Path) -> None:
    out = tmp_path / "sheet.svg"
    text = run(file, "--svg", str(out))
    assert text == run(file)
    root = ET.fromstring(out.read_text(encoding="utf-8"))  # noqa: S314 - our own
    assert root.tag.endswith("svg")
    assert "front left fender" in "".join(root.itertext())
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def test_a_refused_file_leaves_the_picture_as_it_was(shop: Shop, tmp_path: Path) -> None:
    out, wrong = tmp_path / "sheet.svg", tmp_path / "wrong.json"
    out.write_text("before", encoding="utf-8")
    wrong.write_text(json.dumps(document(panels=[fender(panel="wing")])), encoding="utf-8")
    assert "'wing'" in refused(str(wrong), "--svg", str(out))
    assert out.read_text(encoding="utf-8") == "before"


def test_a_picture_that_cannot_be_written(
    shop: Shop, file: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for out in (tmp_path / "missing" / "sheet.svg", tmp_path, Path("a\0b")):
        told = refused(file, "--svg", str(out))
        assert told.startswith("--svg: ")
        assert told.count("\n") == 1
    assert capsys.readouterr().out == ""
