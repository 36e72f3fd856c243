"""Wrong input: status 2, one line ``path: value: remedy`` for each problem, nothing printed."""

import io
import json
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command

from shop.models import Shop
from tests.factories import document, fender


def refusal(text: str | bytes, tmp_path: Path, *more: str) -> list[str]:
    """The lines of the refusal of a file; fails where it is not refused as it should."""
    path = tmp_path / "wrong.json"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return refusal_of(str(path), *more)


def refusal_of(*arguments: str) -> list[str]:
    out, err = io.StringIO(), io.StringIO()
    with pytest.raises(SystemExit) as left:
        call_command("estimate", *arguments, stdout=out, stderr=err)
    assert (left.value.code, out.getvalue()) == (2, "")
    return err.getvalue().splitlines()


def test_every_problem_on_its_line(shop: Shop, tmp_path: Path) -> None:
    panels = [fender(panel="wing"), fender(spots=[[4.3, -1, 4.3]])]
    lines = refusal(json.dumps(document(panels=panels, unit="inch")), tmp_path)
    assert [line.split(": ")[:2] for line in lines] == [
        ["$.unit", "'inch'"],
        ["$.panels[0].panel", "'wing'"],
        ["$.panels[1].spots[0][1]", "-1"],
    ]
    assert all(line.split(": ", 2)[2].startswith("use ") for line in lines)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "$"),
        ("{", "$"),
        ("[1, 2]", "$"),
        (b"\xff\xff", "$"),
        ('{"format": "other/1"}', "$.format"),
        ('{"unit": NaN}', "$.unit"),
        ('{"unit": "mil", "unit": "um"}', "$.unit"),
        ("[" * 5000 + "]" * 5000, "$"),
        ('{"age": 1' + "0" * 6000 + "}", "$.age"),
    ],
    ids=["empty", "cut off", "list", "bytes", "format", "NaN", "twice", "deep", "digits"],
)
def test_files_that_are_none(shop: Shop, tmp_path: Path, text: str | bytes, expected: str) -> None:
    assert any(line.startswith(f"{expected}: ") for line in refusal(text, tmp_path))


def test_names_that_lead_nowhere(shop: Shop, tmp_path: Path) -> None:
    for name in (str(tmp_path / "missing.json"), str(tmp_path), "a\0b"):
        lines = refusal_of(name)
        assert len(lines) == 1
        assert lines[0].startswith("FILE: ")


def test_shops_and_options_that_do_not_exist(shop: Shop, tmp_path: Path) -> None:
    text = json.dumps(document())
    assert refusal(text, tmp_path, "--shop", "nobody") == [
        f"--shop: 'nobody': use one of {shop.slug}"
    ]
    assert refusal(text, tmp_path, "--coating", "varnish")[0].startswith("options: coating")


def test_as_a_process_without_a_traceback(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "manage.py", "estimate", "-", "--json"],
        cwd=settings.BASE_DIR,
        input=b'{"format": "halfmil-inspection/1", "panels": "none"}',
        capture_output=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (2, b"")
    assert b"$.panels: 'none': " in done.stderr
    assert b"Traceback" not in done.stderr
