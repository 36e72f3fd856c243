"""An accepted quote is a job: its work, its materials, its costs, its story."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from estimating.core.options import Options
from estimating.models import Quote
from estimating.services.quotes import quote_accept
from shop.models import Consumable, Job, Member, Shop
from shop.refusals import Refused
from tests.factories import NOW

Make = Callable[..., Quote]
COATED = Options(coating="lantern", add_ons=("leather",))


@pytest.fixture
def quote(quoted: Make) -> Quote:
    return quoted(options=COATED, price=Decimal("777.00"))


@pytest.fixture
def job(quote: Quote, owner: Member) -> Job:
    return quote_accept(quote=quote, member=owner, now=NOW)


def test_work_comes_in_the_order_it_is_done(job: Job) -> None:
    rows = list(job.operations.all())
    kinds = [row.kind for row in rows]
    assert kinds[:3] == ["wash", "mask", "correction"]
    assert kinds[-3:] == ["coating", "coating", "cure"]
    assert [row.sequence for row in rows] == list(range(1, len(rows) + 1))


def test_each_needs_what_the_catalogue_says(job: Job) -> None:
    by_kind = {row.kind: row for row in job.operations.all()}
    polish, coat, cure = by_kind["correction"], by_kind["coating"], by_kind["cure"]
    assert (polish.attendance, polish.bay_capability, polish.skill) == (
        "pausable",
        "correction",
        "polish",
    )
    assert (coat.attendance, coat.lamps, coat.same_bay) == ("through", 1, True)
    assert (coat.lag_min_minutes, coat.lag_max_minutes) == (60, 180)
    assert (cure.attendance, cure.crew_count, cure.skill) == ("unattended", 0, "")
    assert (cure.planned_minutes, cure.lag_max_minutes) == (12 * 60, 0)
    assert by_kind["add_on"].bay_capability == "any"


def test_costs_are_those_behind_the_price_that_was_agreed(job: Job, quote: Quote) -> None:
    cost = quote.parameters["offer"]["cost"]
    parts = (
        job.estimated_labour
        + job.estimated_bay
        + job.estimated_materials
        + job.estimated_overhead
        + job.card_fee
    )
    assert job.card_fee == Decimal(cost["card_fee"]) > 0
    assert job.price == Decimal("777.00")
    assert parts == Decimal(cost["total"])
    assert round((job.price - parts) / job.price, 5) == quote.margin


def test_planned_materials_sum_to_the_estimate(job: Job) -> None:
    rows = list(job.planned_materials.select_related("consumable"))
    assert {"lantern_base", "leather_care"} <= {row.consumable.code for row in rows}
    assert sum(row.cost for row in rows) == job.estimated_materials


def test_the_quote_and_the_story_point_at_each_other(job: Job, quote: Quote) -> None:
    quote.refresh_from_db()
    assert (quote.state, quote.job, quote.accepted_at) == ("accepted", job, NOW)
    assert [event.kind for event in job.events.all()] == ["state", "quote_accepted"]
    assert job.events.order_by("pk")[1].details == {
        "quote": "Q-0001",
        "version": 1,
        "price": "777.000",
    }


@pytest.mark.parametrize("options", [Options(), COATED], ids=["small", "large"])
def test_queries_do_not_grow_with_the_work(quoted: Make, owner: Member, options: Options) -> None:
    quote = quoted(options=options)
    with CaptureQueriesContext(connection) as seen:
        quote_accept(quote=quote, member=owner, now=NOW)
    statements = [query["sql"] for query in seen if "SAVEPOINT" not in query["sql"]]
    # One of them looks for an open enquiry of the vehicle.
    # One of them withdraws the message that would ask about the quote.
    assert len(statements) <= 17


def test_material_that_left_the_list_is_named(quote: Quote, owner: Member, shop: Shop) -> None:
    Consumable.objects.of(shop).filter(code="lantern_top").delete()
    with pytest.raises(Refused, match="Lantern top"):
        quote_accept(quote=quote, member=owner, now=NOW)
    quote.refresh_from_db()
    assert (quote.state, Job.objects.count()) == ("open", 0)
