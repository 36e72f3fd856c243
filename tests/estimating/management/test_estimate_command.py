"""``manage.py estimate``: by the shop's rows, or by the invented ones with a warning."""

import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.management import call_command

from shop.models import Shop
from tests.factories import ShopFactory, document, stocked_shop


@pytest.fixture
def file(tmp_path: Path) -> str:
    path = tmp_path / "inspection.json"
    path.write_text(json.dumps(document()), encoding="utf-8")
    return str(path)


def run(*arguments: str) -> str:
    out = io.StringIO()
    call_command("estimate", *arguments, stdout=out)
    return out.getvalue()


def run_json(*arguments: str) -> dict[str, Any]:
    parsed: dict[str, Any] = json.loads(run(*arguments, "--json"))
    return parsed


def test_json_is_the_estimate_format(shop: Shop, file: str) -> None:
    made = run_json(file)
    assert (made["format"], made["unit"]) == ("halfmil-estimate/1", "mil")
    assert not any("invented shop" in warning for warning in made["warnings"])


@pytest.mark.django_db
def test_a_database_without_a_shop_uses_the_invented_one_and_says_so(file: str) -> None:
    assert "invented shop" in run_json(file)["warnings"][-1]
    assert "This database has no shop yet" in run(file)


def test_the_first_shop_unless_another_is_named(shop: Shop, file: str) -> None:
    dear = stocked_shop(labour_rate=380)
    assert run_json(file) == run_json(file, "--shop", shop.slug)
    assert run_json(file)["price"] != run_json(file, "--shop", dear.slug)["price"]


def test_options_are_part_of_the_estimate(shop: Shop, file: str) -> None:
    text = run(file, "--coating", "lantern", "--add-on", "glass", "--wash", "large")
    for expected in ("Prep wash, large", "base layer", "Cure before handover", "Glass sealant"):
        assert expected in text


def test_standard_input(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO(json.dumps(document())))
    assert "front left fender" in run("-")


def test_a_fresh_clone_without_any_database(tmp_path: Path, file: str) -> None:
    """A process of its own: no tables, no file, and none made by asking."""
    database = tmp_path / "none.sqlite3"
    done = subprocess.run(
        [sys.executable, "manage.py", "estimate", file, "--json"],
        cwd=settings.BASE_DIR,
        env={
            **os.environ,
            "HALFMIL_DATABASE_URL": f"sqlite:///{database}",
            "HALFMIL_VAR_DIR": str(tmp_path / "var"),
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert "invented shop" in json.loads(done.stdout)["warnings"][-1]
    assert not database.exists()


def test_a_shop_without_a_catalogue_is_told_how_to_load_one(
    db: None, file: str, capsys: pytest.CaptureFixture[str]
) -> None:
    ShopFactory()
    with pytest.raises(SystemExit) as left:
        run(file)
    assert left.value.code == 2
    assert "catalogue_load" in capsys.readouterr().err
