"""Another price than the likely one: from the floor margin up, or by an owner's word."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from estimating.models import Quote
from shop.models import Shop
from shop.refusals import Forbidden, Refused
from tests.factories import FrontDeskFactory

Make = Callable[..., Quote]


def test_margin_is_of_the_price_after_cost_and_card_fee(quoted: Make, shop: Shop) -> None:
    """By hand: fee 2.9 % of 300 with 6.25 % tax = 9.24; what is left over 300 is the margin."""
    quote = quoted(price=Decimal("300"))
    cost = {name: Decimal(text) for name, text in quote.parameters["offer"]["cost"].items()}
    assert cost["card_fee"] == Decimal("9.24")
    assert quote.tax == Decimal("18.75")
    expected = (300 - cost["total"]) / 300
    assert quote.margin == round(expected, 5)
    assert cost["total"] == (cost["labour"] + cost["bay"] + cost["materials"] + cost["overhead"])


def test_front_desk_may_go_down_to_the_floor(quoted: Make, shop: Shop) -> None:
    desk = FrontDeskFactory(shop=shop)
    likely = quoted()
    # Cost without fee over what is left of a price at the floor margin.
    offer = likely.parameters["offer"]["cost"]
    bare = Decimal(offer["total"]) - Decimal(offer["card_fee"])
    at_floor = bare / (1 - shop.floor_margin - shop.card_fee_share * (1 + shop.tax_rate))
    least = at_floor.quantize(Decimal("0.01")) + Decimal("0.01")
    quote = quoted(price=least, member=desk)
    assert shop.floor_margin <= quote.margin < shop.floor_margin + Decimal("0.001")
    assert quote.below_floor_reason == ""
    with pytest.raises(Forbidden, match="an owner must say why"):
        quoted(price=least - Decimal("0.05"), member=desk)


@pytest.mark.parametrize("reason", ["", "   "])
def test_an_owner_says_why(quoted: Make, reason: str) -> None:
    with pytest.raises(Forbidden) as refused:
        quoted(price=Decimal("150"), reason=reason)
    assert list(refused.value.by_field()) == ["price"]
    assert not Quote.objects.exists()


def test_an_owners_reason_is_on_record(quoted: Make) -> None:
    assert quoted(price=Decimal("150"), reason=" our mistake ").below_floor_reason == "our mistake"


def test_a_reason_of_the_front_desk_does_not_count(quoted: Make, shop: Shop) -> None:
    with pytest.raises(Forbidden):
        quoted(price=Decimal("150"), reason="friend", member=FrontDeskFactory(shop=shop))


def test_goodwill_is_a_price_of_nothing_with_a_reason(quoted: Make) -> None:
    quote = quoted(price=Decimal("0"), reason="warranty")
    assert (quote.price, quote.tax, quote.margin) == (0, 0, 0)


@pytest.mark.parametrize("price", ["-1", "NaN", "Infinity", "100.005", "1E+12", "0.01"])
def test_prices_that_are_none(quoted: Make, price: str) -> None:
    with pytest.raises(Refused) as refused:
        quoted(price=Decimal(price), reason="because")
    assert list(refused.value.by_field()) == ["price"]


def test_prices_with_tax_inside(quoted: Make, shop: Shop) -> None:
    shop.tax_inclusive = True
    quote = quoted(price=Decimal("300"))
    assert (quote.price, quote.tax) == (Decimal("300.00"), Decimal("18.75"))
