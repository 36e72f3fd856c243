"""What was offered stays as it was, by the code and below it."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.db import DatabaseError, transaction

from estimating.core.catalogue import catalogue_from_dict
from estimating.core.formats import write_estimate
from estimating.core.options import Options
from estimating.models import Inspection, Quote
from estimating.services.catalogue import catalogue_store
from estimating.snapshot import estimate_again
from shop.models import Shop
from tests.factories import NOW, TODAY, catalogue_data

Make = Callable[..., Quote]

FROZEN: dict[str, Any] = {
    "price": Decimal("1"),
    "price_p90": Decimal("99999"),
    "tax": Decimal("1"),
    "valid_until": NOW.replace(year=2030),
    "request": {},
    "parameters": {},
    "estimate": {},
    "operations": [],
    "materials": [],
    "number": "Q-9999",
}


@pytest.mark.parametrize("field", FROZEN)
def test_the_database_refuses_to_change_it(quoted: Make, field: str) -> None:
    quote = quoted()
    with pytest.raises(DatabaseError), transaction.atomic():
        Quote.objects.filter(pk=quote.pk).update(**{field: FROZEN[field]})
    before = getattr(quote, field)
    quote.refresh_from_db()
    assert getattr(quote, field) == before


def test_state_may_change(quoted: Make) -> None:
    """So that the refusals above are not of every update."""
    assert Quote.objects.filter(pk=quoted().pk).update(state="sent") == 1


def dearer_from(shop: Shop) -> None:
    data = catalogue_data()
    for row in data["passes"]:
        row["coverage_m2_per_hour"] /= 3
    catalogue_store(shop=shop, catalogue=catalogue_from_dict(data), day=TODAY)
    shop.labour_rate = Decimal("95")
    shop.save()


def test_new_rates_change_new_quotes_only(quoted: Make, shop: Shop) -> None:
    old = quoted()
    kept = Quote.objects.values().get(pk=old.pk)
    dearer_from(shop)
    assert quoted().price > old.price
    assert Quote.objects.values().get(pk=old.pk) == kept


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"inspection": None},
        {"options": Options(coating="lantern", add_ons=("glass",), technician="junior")},
        {"goal": {"safest_best": True}, "options": Options(wash=None)},
    ],
    ids=["inspected", "by phone", "coated", "best"],
)
def test_it_can_be_worked_out_again_from_itself_alone(
    quoted: Make, shop: Shop, changes: dict[str, Any]
) -> None:
    """Every row that mattered is in the snapshot: rates that changed since do not matter."""
    quote = quoted(**changes)
    dearer_from(shop)
    quote.refresh_from_db()
    assert write_estimate(estimate_again(quote.request, quote.parameters)) == quote.estimate


def test_findings_that_change_later_leave_it_alone(quoted: Make, inspection: Inspection) -> None:
    quote = quoted()
    inspection.panels.all().delete()
    quote.refresh_from_db()
    assert [panel["panel"] for panel in quote.request["document"]["panels"]] == [
        "front_left_fender"
    ]
