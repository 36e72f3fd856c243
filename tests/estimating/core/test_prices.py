"""Tax either way, card fee, floor under a discount, deposit, whole-unit currencies."""

from dataclasses import replace
from decimal import Decimal

import pytest

from estimating.core.checks import RuleBroken
from estimating.core.costing import deposit, direct_cost, discounted, floor_price, price
from tests.estimating.core.cases import TERMS

COST = direct_cost(300.0, 330.0, Decimal("42.37"), TERMS)


@pytest.mark.parametrize("inclusive", [False, True])
def test_the_target_margin_is_left_after_tax_and_card_fee(inclusive):
    terms = replace(TERMS, tax_inclusive=inclusive)
    made = price(COST, terms)
    assert made.net + made.tax == made.gross
    assert made.shown == (made.gross if inclusive else made.net)
    assert made.cost.card_fee == pytest.approx(
        made.gross * terms.card_fee_share, abs=Decimal("0.01")
    )
    left = made.net - made.cost.total
    assert terms.target_margin <= left / made.net < terms.target_margin + Decimal("0.01")


def test_a_discount_stops_at_the_floor_unless_the_owner_gives_a_reason():
    made, least = price(COST, TERMS), floor_price(COST, TERMS)
    assert discounted(made, Decimal("0.05"), TERMS).shown < made.shown
    with pytest.raises(RuleBroken, match=str(least.shown)):
        discounted(made, Decimal("0.30"), TERMS)
    given = discounted(made, Decimal("0.30"), TERMS, owner_reason="first fleet job")
    assert given.shown < least.shown


def test_the_margin_of_a_discounted_price_counts_the_fee_once():
    made = discounted(price(COST, TERMS), Decimal("0.10"), TERMS)
    fee = (made.gross * TERMS.card_fee_share).quantize(Decimal("0.01"))
    assert made.cost.total == COST.total + fee


def test_the_deposit_is_a_share_of_the_gross_price():
    made = price(COST, TERMS)
    assert deposit(made, TERMS) == (made.gross / 4).quantize(Decimal("0.01"))


def test_a_currency_without_cents_has_none():
    terms = replace(TERMS, currency="JPY", minor_units=0, labour_rate=Decimal(3400))
    made = price(direct_cost(100.0, 100.0, Decimal(1234), terms), terms)
    for amount in (made.shown, made.tax, made.cost.labour, made.cost.total):
        assert amount == amount.to_integral_value()
    assert made.shown % terms.rounding_step == 0
