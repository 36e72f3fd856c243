"""A quote is the estimate of its day with a number, a range and a validity."""

from collections.abc import Callable
from datetime import UTC, datetime
from decimal import Decimal

import pytest

from estimating.core.formats import read_inspection
from estimating.core.inspection import Goal
from estimating.core.options import Options
from estimating.models import Inspection, Quote
from estimating.services.estimates import estimate_make
from shop.models import Shop, Vehicle
from shop.refusals import Refused
from tests.factories import (
    NOW,
    TODAY,
    CustomerFactory,
    InspectionFactory,
    MemberFactory,
    QuoteFactory,
    VehicleFactory,
)

Make = Callable[..., Quote]


def test_figures_are_those_of_the_estimate(quoted: Make, shop: Shop) -> None:
    quote = quoted()
    made = estimate_make(shop=shop, document=quote.request["document"], day=TODAY)
    assert (quote.price_p10, quote.price_p50, quote.price_p90) == (
        made.low.net,
        made.likely.net,
        made.high.net,
    )
    assert (quote.price, quote.tax, quote.currency) == (made.likely.net, made.likely.tax, "USD")
    assert quote.margin >= shop.target_margin
    assert quote.hours_p10 < quote.hours_p50 < quote.hours_p90
    assert quote.estimate["format"] == "halfmil-estimate/1"


def test_numbers_run_on_in_each_shop(quoted: Make) -> None:
    assert [quoted().number, quoted().number] == ["Q-0001", "Q-0002"]


def test_title_says_what_is_offered(quoted: Make) -> None:
    options = Options(coating="lantern", add_ons=("glass",))
    names = quoted(options=options).title.split(", ")
    assert names[0] == "Single-stage correction"
    assert len(names) == 3


def test_valid_to_the_end_of_the_last_day_on_the_shops_clock(quoted: Make) -> None:
    """Fourteen days from 2 March end in daylight time: midnight is 05:00 UTC, not 06:00."""
    assert quoted().valid_until == datetime(2026, 3, 17, 5, 0, tzinfo=UTC)


def test_without_an_inspection_the_range_is_wider(quoted: Make) -> None:
    by_phone, seen = quoted(inspection=None), quoted()
    assert by_phone.request["document"]["panels"] == []
    width = [(one.price_p90 - one.price_p10) / one.price_p50 for one in (by_phone, seen)]
    assert width[0] > width[1]


@pytest.mark.parametrize(
    "goal", [Goal(safest_best=True), Goal(price_cap=Decimal("400")), Goal(cleared=0.5)]
)
def test_goal_is_kept_as_the_document_has_it(quoted: Make, goal: Goal) -> None:
    kept = quoted(goal=goal).request["document"]
    assert read_inspection(kept).goal == goal


def test_nothing_to_do_is_no_quote(quoted: Make, inspection: Inspection) -> None:
    inspection.panels.get().defects.all().delete()
    with pytest.raises(Refused) as refused:
        quoted()
    assert list(refused.value.by_field()) == ["options"]


def test_an_inspection_without_panels_is_no_ground(quoted: Make, inspection: Inspection) -> None:
    inspection.panels.all().delete()
    with pytest.raises(Refused) as refused:
        quoted()
    assert list(refused.value.by_field()) == ["inspection"]
    assert not Quote.objects.exists()


FOREIGN = {
    "member": MemberFactory,
    "customer": CustomerFactory,
    "vehicle": VehicleFactory,
    "inspection": InspectionFactory,
    "replaces": QuoteFactory,
}


@pytest.mark.parametrize("field", FOREIGN)
def test_rows_of_another_shop(quoted: Make, field: str) -> None:
    with pytest.raises(Refused) as refused:
        quoted(**{field: FOREIGN[field]()})
    assert list(refused.value.by_field()) == [field]


@pytest.mark.parametrize("field", ["customer", "vehicle", "inspection", "replaces"])
def test_rows_that_do_not_belong_together(quoted: Make, shop: Shop, field: str) -> None:
    with pytest.raises(Refused):
        quoted(**{field: FOREIGN[field](shop=shop)})


def test_age_that_nobody_knows_is_asked_for(quoted: Make, vehicle: Vehicle) -> None:
    vehicle.first_used_on = None
    with pytest.raises(Refused) as refused:
        quoted(inspection=None, now=NOW)
    assert list(refused.value.by_field()) == ["$.vehicle.age_months"]
