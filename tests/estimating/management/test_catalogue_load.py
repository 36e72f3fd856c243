"""``manage.py catalogue_load``: a file into a shop's tables from a day on."""

import io
import json
from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.core.management import call_command

from estimating import selectors
from shop.models import CatalogueSetting, Shop
from tests.factories import NOW, TODAY, ShopFactory, catalogue_data, catalogue_text


def load(tmp_path: Path, data: Any, *more: str) -> str:
    path = tmp_path / "catalogue.json"
    path.write_text(data if isinstance(data, str) else json.dumps(data), encoding="utf-8")
    out = io.StringIO()
    call_command("catalogue_load", str(path), *more, stdout=out)
    return out.getvalue()


def dearer_wash() -> dict[str, Any]:
    data = catalogue_data()
    data["wash_sizes"][0]["list_price"] = "71.50"
    return data


@time_machine.travel(NOW, tick=False)
def test_an_empty_shop_gets_every_row_from_today(db: None, tmp_path: Path) -> None:
    shop: Shop = ShopFactory()
    rows = sum(len(value) for value in catalogue_data().values() if isinstance(value, list))
    settings_and_note = 4
    said = load(tmp_path, catalogue_text())
    assert f"{rows + settings_and_note} rows" in said
    assert "2026-03-02" in said
    assert selectors.catalogue_for(shop, TODAY).levels


def test_a_day_and_a_shop_may_be_named(shop: Shop, tmp_path: Path) -> None:
    other = ShopFactory()
    load(tmp_path, dearer_wash(), "--shop", shop.slug, "--from", "2026-04-01")
    april = TODAY.replace(month=4, day=1)
    prices = [
        selectors.catalogue_for(shop, day).wash_sizes[0].list_price
        for day in (april - timedelta(days=1), april)
    ]
    assert prices == [Decimal("65.00"), Decimal("71.50")]
    assert not CatalogueSetting.objects.of(other).exists()


WRONG = {
    "no JSON": ("{", "$: "),
    "no object": ("[]", "$: "),
    "no tables": ({"format": "halfmil-catalogue/1"}, "catalogue: table bodies"),
    "other format": ({"format": "x"}, "catalogue: format"),
    "shapeless table": ({**catalogue_data(), "levels": [1]}, "$.levels: "),
    "reference to nothing": ({**catalogue_data(), "levels": []}, "catalogue: passes.level"),
}


@pytest.mark.parametrize(("data", "expected"), WRONG.values(), ids=WRONG)
def test_files_that_are_refused(
    shop: Shop, tmp_path: Path, data: Any, expected: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = selectors.catalogue_for(shop, TODAY)
    with pytest.raises(SystemExit) as left:
        load(tmp_path, data)
    said = capsys.readouterr()
    assert (left.value.code, said.out) == (2, "")
    assert said.err.startswith(expected)
    assert selectors.catalogue_for(shop, TODAY) == before


@pytest.mark.parametrize("more", [("--from", "yesterday"), ("--shop", "nobody")])
def test_arguments_that_are_refused(
    shop: Shop, tmp_path: Path, more: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as left:
        load(tmp_path, catalogue_text(), *more)
    assert left.value.code == 2
    assert capsys.readouterr().err.startswith(f"{more[0]}: '{more[1]}': ")


def test_no_shop_to_load_into(db: None, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        load(tmp_path, catalogue_text())
    assert "there is no shop yet" in capsys.readouterr().err
