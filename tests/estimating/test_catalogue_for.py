"""A shop's tables as the core's catalogue: whole, by day, in bounded queries."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from estimating import selectors
from estimating.core.catalogue import catalogue_from_dict
from estimating.mapping import TABLES, names_of
from estimating.services.catalogue import catalogue_store
from shop.models import LevelPass, Shop
from shop.refusals import Refused
from tests.factories import TODAY, ShopFactory, catalogue_data

QUERIES = 23  # 21 tables, settings, the shelf


def test_tables_give_back_the_file_they_were_loaded_from(shop: Shop) -> None:
    assert selectors.catalogue_for(shop, TODAY) == catalogue_from_dict(catalogue_data())


def test_every_table_and_every_field_is_mapped() -> None:
    tables = set(catalogue_data()) - {"format", "note", "policy", "gauge", "film", "hours"}
    assert {table.name for table in TABLES} == tables - {"consumables"}
    for table in TABLES:
        columns = {field.name for field in table.model._meta.concrete_fields}
        kept_by_all = {"id", "shop", "effective_from", "effective_to", "position"}
        assert columns - kept_by_all == set(names_of(table.row)), table.name


def test_policy_is_the_shops_own(shop: Shop) -> None:
    shop.floor_um, shop.max_risk = 90.0, Decimal("0.01")
    policy = selectors.catalogue_for(shop, TODAY).policy
    assert (policy.floor_um, policy.reserve_um, policy.max_risk) == (90.0, 5.08, 0.01)


def test_another_shops_rows_are_not_seen(shop: Shop) -> None:
    with pytest.raises(Refused, match="catalogue_load"):
        selectors.catalogue_for(ShopFactory(), TODAY)


def test_days_before_the_first_catalogue_are_refused(shop: Shop) -> None:
    with pytest.raises(Refused, match="2025-12-31"):
        selectors.catalogue_for(shop, TODAY.replace(year=2025, month=12, day=31))


@pytest.mark.parametrize("changes", [0, 40], ids=["one version", "forty more versions"])
def test_queries_do_not_grow_with_the_number_of_versions(shop: Shop, changes: int) -> None:
    row = LevelPass.objects.of(shop)[0]
    for back in range(changes):
        row.pk, row.effective_from = None, TODAY - timedelta(days=back + 1)
        row.coverage_m2_per_hour += 0.01
        row.save()
    with CaptureQueriesContext(connection) as seen:
        selectors.catalogue_for(shop, TODAY)
    assert len(seen) == QUERIES


def test_the_statement_and_the_queryset_agree_on_what_holds(shop: Shop) -> None:
    """Versions that begin and end around the day: the same rows by both ways."""
    data = catalogue_data()
    data["add_ons"][0]["list_price"] = "91.00"
    del data["add_ons"][1]
    catalogue_store(shop=shop, catalogue=catalogue_from_dict(data), day=TODAY)
    model = next(table.model for table in TABLES if table.name == "add_ons")
    for days in (-1, 0, 1):
        day = TODAY + timedelta(days=days)
        newest = {
            row.code: row
            for row in sorted(
                model.objects.of(shop).in_effect(day), key=lambda row: row.effective_from
            )
        }
        by_queryset = {code: row.list_price for code, row in newest.items()}
        rows = selectors.catalogue_for(shop, day).add_ons
        assert {row.code: row.list_price for row in rows} == by_queryset
