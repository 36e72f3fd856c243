"""A new catalogue holds from its day on; nothing it does reaches back."""

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from estimating import selectors
from estimating.core.catalogue import Catalogue, catalogue_from_dict
from estimating.core.catalogue_rows import WashSize
from estimating.services.catalogue import catalogue_store
from shop.models import Consumable, LevelPass, Shop
from shop.models import WashSize as WashRow
from shop.refusals import Refused
from tests.factories import TODAY, catalogue_data

YESTERDAY = TODAY - timedelta(days=1)


def changed(edit: Callable[[dict[str, Any]], None]) -> Catalogue:
    """The demo catalogue with one thing different."""
    data = catalogue_data()
    edit(data)
    return catalogue_from_dict(data)


def wash_price(price: str) -> Catalogue:
    return changed(lambda data: data["wash_sizes"][0].update(list_price=price))


def small_wash(shop: Shop, day: Any) -> WashSize:
    return selectors.catalogue_for(shop, day).wash_sizes[0]


def test_a_changed_row_holds_from_its_day_and_not_before(shop: Shop) -> None:
    written = catalogue_store(shop=shop, catalogue=wash_price("71.50"), day=TODAY)
    assert written == 1
    assert small_wash(shop, YESTERDAY).list_price == Decimal("65.00")
    assert small_wash(shop, TODAY).list_price == Decimal("71.50")


def test_the_same_catalogue_again_writes_nothing(shop: Shop) -> None:
    assert catalogue_store(shop=shop, catalogue=wash_price("65.00"), day=TODAY) == 0


def test_a_second_load_on_the_same_day_corrects_the_first(shop: Shop) -> None:
    catalogue_store(shop=shop, catalogue=wash_price("71.50"), day=TODAY)
    catalogue_store(shop=shop, catalogue=wash_price("72.50"), day=TODAY)
    assert small_wash(shop, TODAY).list_price == Decimal("72.50")
    assert WashRow.objects.of(shop).filter(code="small").count() == 2


def test_a_row_that_is_gone_ends_on_the_day_with_all_its_versions(shop: Shop) -> None:
    catalogue_store(shop=shop, catalogue=wash_price("71.50"), day=YESTERDAY)
    without = changed(lambda data: data["wash_sizes"].pop(0))
    catalogue_store(shop=shop, catalogue=without, day=TODAY)
    assert small_wash(shop, YESTERDAY).list_price == Decimal("71.50")
    assert small_wash(shop, TODAY).code == "medium"


def test_an_amount_its_column_would_round_is_refused(shop: Shop) -> None:
    with pytest.raises(Refused) as refused:
        catalogue_store(shop=shop, catalogue=wash_price("65.0005"), day=TODAY)
    assert list(refused.value.by_field()) == ["wash_sizes[0].list_price"]


def test_stock_that_is_counted_keeps_its_count(shop: Shop) -> None:
    Consumable.objects.of(shop).filter(code="polish").update(on_hand=Decimal("12.5"))
    dearer = changed(lambda data: data["consumables"][1].update(unit_cost="0.051"))
    catalogue_store(shop=shop, catalogue=dearer, day=TODAY)
    polish = Consumable.objects.of(shop).get(code="polish")
    assert (polish.on_hand, polish.unit_cost) == (Decimal("12.5"), Decimal("0.051"))


def test_a_catalogue_that_breaks_rows_planned_for_later_is_refused_whole(shop: Shop) -> None:
    """A pass planned for tomorrow may not lose the level it belongs to."""
    row = LevelPass.objects.of(shop).filter(level="multi")[0]
    row.pk, row.effective_from = None, TODAY + timedelta(days=1)
    row.save()

    def without_multi(data: dict[str, Any]) -> None:
        data["levels"] = [one for one in data["levels"] if one["code"] != "multi"]
        data["passes"] = [one for one in data["passes"] if one["level"] != "multi"]

    before = selectors.catalogue_for(shop, TODAY)
    with pytest.raises(Refused, match="2026-03-03"):
        catalogue_store(shop=shop, catalogue=changed(without_multi), day=TODAY)
    assert selectors.catalogue_for(shop, TODAY) == before


def test_a_row_put_in_front_of_older_ones_stands_in_front(shop: Shop) -> None:
    """Order is the file's, not the order in which rows came to be."""

    def with_tiny(data: dict[str, Any]) -> None:
        tiny = {**data["wash_sizes"][0], "code": "tiny", "bodies": []}
        data["wash_sizes"].insert(0, tiny)

    catalogue = changed(with_tiny)
    catalogue_store(shop=shop, catalogue=catalogue, day=TODAY)
    assert selectors.catalogue_for(shop, TODAY) == catalogue
