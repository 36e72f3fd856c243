"""A kept catalogue is good until the database says that a row changed, however it changed."""

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from estimating import selectors
from estimating.catalogue_kept import catalogue_kept
from shop.models import AddOn, Consumable, Counter
from tests.factories import TODAY


def change_by_save(shop):
    row = AddOn.objects.of(shop).get(code="glass")
    row.minutes = 99.0
    row.save()


def change_by_update(shop):
    AddOn.objects.of(shop).filter(code="glass").update(minutes=99.0)


def change_by_bulk(shop):
    row = AddOn.objects.of(shop).get(code="glass")
    row.minutes = 99.0
    AddOn.objects.bulk_update([row], ["minutes"])


def change_by_statement(shop):
    with connection.cursor() as cursor:
        cursor.execute("UPDATE shop_addon SET minutes = 99 WHERE shop_id = %s", [shop.pk])


def change_by_delete(shop):
    AddOn.objects.of(shop).filter(code="glass").delete()


CHANGES = (
    change_by_save,
    change_by_update,
    change_by_bulk,
    change_by_statement,
    change_by_delete,
)


def test_what_is_kept_is_what_would_be_read(shop):
    for _ in range(2):
        assert catalogue_kept(shop, TODAY) == selectors.catalogue_for(shop, TODAY)


@pytest.mark.parametrize("change", CHANGES)
def test_every_way_of_changing_a_row_is_seen(shop, change):
    before = catalogue_kept(shop, TODAY)
    change(shop)
    after = catalogue_kept(shop, TODAY)
    assert after != before
    assert after == selectors.catalogue_for(shop, TODAY)


def test_a_change_that_is_undone_does_not_stay(shop):
    before = catalogue_kept(shop, TODAY)
    with transaction.atomic():
        change_by_update(shop)
        assert catalogue_kept(shop, TODAY) != before
        transaction.set_rollback(True)
    assert catalogue_kept(shop, TODAY) == before


def test_the_next_change_after_an_undone_one_is_seen(shop):
    """With a counter that counts, both changes would carry the same number."""
    catalogue_kept(shop, TODAY)
    with transaction.atomic():
        AddOn.objects.of(shop).filter(code="glass").update(minutes=1.0)
        catalogue_kept(shop, TODAY)
        transaction.set_rollback(True)
    change_by_update(shop)
    assert catalogue_kept(shop, TODAY) == selectors.catalogue_for(shop, TODAY)


def test_the_shelf_and_the_policy_are_always_fresh(shop):
    catalogue_kept(shop, TODAY)
    Consumable.objects.of(shop).filter(code="compound").update(on_hand=7)
    shop.floor_um = 90.0
    assert catalogue_kept(shop, TODAY) == selectors.catalogue_for(shop, TODAY)


def test_one_query_where_it_is_kept(shop):
    catalogue_kept(shop, TODAY)
    with CaptureQueriesContext(connection) as seen:
        catalogue_kept(shop, TODAY)
    assert len(seen) == 1
    assert Counter.objects.of(shop).filter(series="catalogue").count() == 1
