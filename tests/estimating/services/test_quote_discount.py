"""A discount off the likely price: held by the floor, kept with the quote."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from estimating.models import Quote
from estimating.snapshot import deposit_of, discount_of
from shop.models import Shop
from shop.refusals import Forbidden, Refused


def test_taken_off_the_likely_price(quoted: Callable[..., Quote]) -> None:
    made = quoted(discount_share=Decimal("0.1"))
    assert made.price == (made.price_p50 * Decimal("0.9")).quantize(Decimal("0.01"))
    assert made.margin < quoted().margin
    assert discount_of(made.parameters) == Decimal("0.1")


def test_under_the_floor_only_with_an_owners_reason(quoted: Callable[..., Quote]) -> None:
    # A target margin of 45 % and a floor of 25 %: half the price is far below cost.
    with pytest.raises(Forbidden):
        quoted(discount_share=Decimal("0.5"))
    made = quoted(discount_share=Decimal("0.5"), reason="our own mistake last time")
    assert made.below_floor_reason == "our own mistake last time"


@pytest.mark.parametrize("share", ["-0.1", "1"])
def test_shares_that_are_none(quoted: Callable[..., Quote], share: str) -> None:
    with pytest.raises(Refused) as refused:
        quoted(discount_share=Decimal(share))
    assert list(refused.value.by_field()) == ["discount"]


def test_not_beside_a_price(quoted: Callable[..., Quote]) -> None:
    with pytest.raises(Refused, match="not both"):
        quoted(discount_share=Decimal("0.1"), price=Decimal(500))


def test_deposit_is_a_share_of_what_is_paid(shop: Shop, quoted: Callable[..., Quote]) -> None:
    assert deposit_of(quoted().parameters) == 0
    shop.deposit_share = Decimal("0.2")
    shop.save()
    made = quoted()
    exact = (made.price + made.tax) * Decimal("0.2")
    assert abs(deposit_of(made.parameters) - exact) <= Decimal("0.005")
