"""The catalogue as it holds on a day."""

from datetime import date
from decimal import Decimal

import pytest

from shop.api.catalogue import TABLES
from shop.models import WashSize
from tests import factories as make


@pytest.fixture
def client(db, client_of):
    return client_of(make.TechnicianFactory(shop=make.stocked_shop()))


def rows(client, table, **query):
    answer = client.get(f"/api/catalogue/{table}/", query)
    assert answer.status_code == 200, answer.data
    return answer.json()["rows"]


def test_every_table_can_be_read(client):
    assert client.get("/api/catalogue/").data["tables"] == list(TABLES)
    for table in TABLES:
        assert rows(client, table), table


def test_a_new_version_counts_from_its_day(client):
    wash = WashSize.objects.first()
    wash.pk, wash.effective_from, wash.list_price = None, date(2026, 3, 2), Decimal("999")
    wash.save()

    def prices(day):
        return [row["list_price"] for row in rows(client, "wash-sizes", day=day)]

    assert "999.000" not in prices("2026-03-01")
    assert "999.000" in prices("2026-03-02")
    assert len(prices("2026-03-01")) == len(prices("2026-03-02"))
    # Without a day: today in the shop, 2 March.
    assert rows(client, "wash-sizes") == rows(client, "wash-sizes", day="2026-03-02")


def test_nothing_holds_before_the_first_day(client):
    assert rows(client, "levels", day="2025-12-31") == []


def test_unknown_tables_and_days(client):
    assert client.get("/api/catalogue/sizes/").status_code == 404
    answer = client.get("/api/catalogue/levels/", {"day": "tomorrow"})
    assert list(answer.data["errors"]) == ["day"]


def test_it_is_not_changed_here(client):
    assert client.post("/api/catalogue/", {}).status_code == 405
