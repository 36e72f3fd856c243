"""Costs of a job and the price made from them, in `Decimal`.

Margin is the share of the price before tax that is left after all costs, the card
fee among them; it is not mark-up, which is a share of the cost. Each cost part is
rounded half up to the currency's smallest unit, the total is the sum of the parts,
and a price is rounded up to the shop's step.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

from estimating.core.checks import RuleBroken
from estimating.core.terms import ShopTerms

_MINUTES_PER_HOUR = Decimal(60)
_MINUTE_STEP = Decimal("0.01")
ZERO = Decimal(0)
_QUANTA = tuple(Decimal(1).scaleb(-places) for places in range(5))


@dataclass(frozen=True, slots=True)
class Cost:
    """Cost parts of a job; `total = labour + bay + materials + overhead`.

    `overhead` holds the shop's overhead and the card fee; `card_fee` says how much
    of it is the fee.
    """

    labour: Decimal
    bay: Decimal
    materials: Decimal
    overhead: Decimal
    total: Decimal
    card_fee: Decimal


@dataclass(frozen=True, slots=True)
class Priced:
    """A price and what stands behind it: net of tax, tax, gross, margin, mark-up.

    `shown` is what a customer is told: net where tax comes on top, gross where
    prices include it.
    """

    shown: Decimal
    net: Decimal
    tax: Decimal
    gross: Decimal
    margin: Decimal
    markup: Decimal
    cost: Cost


def cents(amount: Decimal, terms: ShopTerms) -> Decimal:
    """Round an amount half up to the currency's smallest unit."""
    return amount.quantize(_QUANTA[terms.minor_units], ROUND_HALF_UP)


def direct_cost(
    labour_minutes: float, bay_minutes: float, materials: Decimal, terms: ShopTerms
) -> Cost:
    """Cost of a job before any card fee."""
    labour = cents(_minutes(labour_minutes) * terms.labour_rate / _MINUTES_PER_HOUR, terms)
    bay = cents(_minutes(bay_minutes) * terms.bay_rate / _MINUTES_PER_HOUR, terms)
    overhead = cents(labour * terms.overhead_rate, terms)
    materials = cents(materials, terms)
    total = labour + bay + materials + overhead
    return Cost(labour, bay, materials, overhead, total, cents(ZERO, terms))


def _minutes(minutes: float) -> Decimal:
    return Decimal(repr(minutes)).quantize(_MINUTE_STEP, ROUND_HALF_UP)


def margin_to_markup(margin: Decimal) -> Decimal:
    """Mark-up on cost that gives a margin on price: `m / (1 - m)`."""
    return margin / (1 - margin)


def markup_to_margin(markup: Decimal) -> Decimal:
    """Margin on price that a mark-up on cost gives: `k / (1 + k)`."""
    return markup / (1 + markup)


def price_for_margin(cost: Cost, margin: Decimal, terms: ShopTerms) -> Priced:
    """The price that leaves a margin after all costs, the card fee included.

    With a fee `f` on the gross amount and tax `t`, `net = cost / (1 - m - f (1 + t))`;
    the shown price is then rounded up to the step, so the margin is never less
    than asked for.
    """
    return priced_at(shown_for_margin(cost, margin, terms), cost, terms)


def shown_for_margin(cost: Cost, margin: Decimal, terms: ShopTerms) -> Decimal:
    """What a customer is told at that margin: all that a finish curve needs of a price."""
    if cost.total == 0:
        return cents(ZERO, terms)
    fee_share = terms.card_fee_share * (1 + terms.tax_rate)
    if margin + fee_share >= 1:
        raise RuleBroken("margin and card fee together must leave room for the cost")
    net = cost.total / (1 - margin - fee_share)
    return round_up(net * (1 + terms.tax_rate) if terms.tax_inclusive else net, terms)


def round_up(amount: Decimal, terms: ShopTerms) -> Decimal:
    """Round a price up to a multiple of the shop's step."""
    steps = (amount / terms.rounding_step).to_integral_value(ROUND_CEILING)
    return cents(steps * terms.rounding_step, terms)


def priced_at(shown: Decimal, cost: Cost, terms: ShopTerms) -> Priced:
    """What a shown price means: tax, card fee, margin and mark-up."""
    shown = cents(shown, terms)
    if terms.tax_inclusive:
        gross = shown
        net = cents(gross / (1 + terms.tax_rate), terms)
    else:
        net = shown
        gross = net + cents(net * terms.tax_rate, terms)
    fee = cents(gross * terms.card_fee_share, terms)
    full = Cost(
        labour=cost.labour,
        bay=cost.bay,
        materials=cost.materials,
        overhead=cost.overhead - cost.card_fee + fee,
        total=cost.total - cost.card_fee + fee,
        card_fee=fee,
    )
    left = net - full.total
    return Priced(
        shown=shown,
        net=net,
        tax=gross - net,
        gross=gross,
        margin=left / net if net else ZERO,
        markup=left / full.total if full.total else ZERO,
        cost=full,
    )


def price(cost: Cost, terms: ShopTerms) -> Priced:
    """The shop's price for a cost: its target margin, rounded up."""
    return price_for_margin(cost, terms.target_margin, terms)


def floor_price(cost: Cost, terms: ShopTerms) -> Priced:
    """The least price that may be given without an owner's reason."""
    return price_for_margin(cost, terms.floor_margin, terms)


def discounted(
    priced: Priced, discount_share: Decimal, terms: ShopTerms, owner_reason: str = ""
) -> Priced:
    """Take a discount off a price.

    Raises
    ------
    RuleBroken
        If the share is not from 0 to below 1, or if the price would fall under the
        floor and no owner's reason is given; the message names the least price.
    """
    if not ZERO <= discount_share < 1:
        raise RuleBroken(f"discount must be a share from 0 to below 1, not {discount_share}")
    bare = _without_fee(priced.cost)
    wanted = priced_at(priced.shown * (1 - discount_share), bare, terms)
    least = floor_price(bare, terms)
    if wanted.shown < least.shown and not owner_reason.strip():
        raise RuleBroken(
            f"a price of {wanted.shown} is under the floor of {least.shown};"
            " it needs the owner's reason on record"
        )
    return wanted


def _without_fee(cost: Cost) -> Cost:
    return Cost(
        labour=cost.labour,
        bay=cost.bay,
        materials=cost.materials,
        overhead=cost.overhead - cost.card_fee,
        total=cost.total - cost.card_fee,
        card_fee=ZERO,
    )


def deposit(priced: Priced, terms: ShopTerms) -> Decimal:
    """The part of the gross price asked for when a slot is booked."""
    return cents(priced.gross * terms.deposit_share, terms)
