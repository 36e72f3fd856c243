"""An estimate by a shop's own rows, and the same refusals for every caller."""

from decimal import Decimal
from typing import Any

import pytest

from estimating.core.catalogue import catalogue_from_dict
from estimating.core.estimate import estimate
from estimating.core.formats import read_inspection, write_estimate
from estimating.core.options import Options
from estimating.core.terms import ShopTerms
from estimating.selectors import terms_for
from estimating.services.estimates import estimate_make
from shop.models import DefectProfile, Shop
from shop.refusals import Refused
from tests.factories import TODAY, catalogue_data, document


def test_a_shops_rows_give_what_the_core_gives_for_the_file(shop: Shop) -> None:
    """Through columns and back, no figure changes an estimate."""
    by_file = estimate(
        read_inspection(document()), catalogue_from_dict(catalogue_data()), terms_for(shop)
    )
    by_rows = estimate_make(shop=shop, document=document(), day=TODAY)
    assert write_estimate(by_rows) == write_estimate(by_file)


def test_terms_keep_every_digit_of_the_profile(shop: Shop) -> None:
    shop.labour_rate = Decimal("38.125")
    shop.save()
    shop.refresh_from_db()
    terms = terms_for(shop)
    assert isinstance(terms, ShopTerms)
    assert (terms.labour_rate, terms.minor_units) == (Decimal("38.125"), 2)


@pytest.mark.parametrize(("currency", "places"), [("JPY", 0), ("USD", 2), ("KWD", 3)])
def test_minor_units_follow_the_currency(shop: Shop, currency: str, places: int) -> None:
    """ISO 4217, list one, column "minor unit"."""
    shop.currency = currency
    assert terms_for(shop).minor_units == places


WRONG: dict[str, tuple[Any, str]] = {
    "no object": ([], "$"),
    "no JSON": ("{", "$"),
    "not UTF-8": (b"\xff\xfe{", "$"),
    "key twice": ('{"format": 1, "format": 2}', "$.format"),
    "goal missing": ({k: v for k, v in document().items() if k != "goal"}, "$.goal"),
    "two goals": (document(goal={"cleared": 0.5, "price_cap": 100}), "$.goal"),
    "body": (document(vehicle={"body": "boat", "age_months": 4}), "$.vehicle.body"),
    "age missing": (document(vehicle={"body": "van"}), "$.vehicle.age_months"),
    "answer nobody knows": (
        document(vehicle={"body": "van", "age_months": 4, "storage": "barn"}),
        "$.vehicle.storage",
    ),
    "risk above one": (document(policy={"max_risk": 1.5}), "$.policy.max_risk"),
    "gauge key": (document(gauge={"maker": "x"}), "$.gauge.maker"),
}


@pytest.mark.parametrize(("given", "path"), WRONG.values(), ids=WRONG)
def test_wrong_documents(shop: Shop, given: Any, path: str) -> None:
    with pytest.raises(Refused) as refused:
        estimate_make(shop=shop, document=given, day=TODAY)
    assert any(field.startswith(path) for field in refused.value.by_field())


def test_deep_nesting_is_refused_without_recursion(shop: Shop) -> None:
    with pytest.raises(Refused, match="deep"):
        estimate_make(shop=shop, document="[" * 100_000, day=TODAY)


@pytest.mark.parametrize(
    "options",
    [Options(coating="varnish"), Options(wash="huge"), Options(add_ons=("glass", "glass"))],
)
def test_wrong_options(shop: Shop, options: Options) -> None:
    with pytest.raises(Refused) as refused:
        estimate_make(shop=shop, document=document(), options=options, day=TODAY)
    assert list(refused.value.by_field()) == ["options"]


def test_a_row_taken_out_of_the_catalogue_is_named_not_raised(shop: Shop) -> None:
    DefectProfile.objects.of(shop).filter(kind="swirl_marks").delete()
    with pytest.raises(Refused, match="swirl_marks"):
        estimate_make(shop=shop, document=document(), day=TODAY)
