"""The shop's terms: what an hour costs it and how a price is made from a cost."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from estimating.core.checks import RuleBroken, not_negative, positive, share, share_below_one


@dataclass(frozen=True, slots=True)
class ShopTerms:
    """Money terms, all `Decimal`, in one currency.

    Parameters
    ----------
    currency
        Three letters of ISO 4217.
    minor_units
        Decimal places of the currency (2 for USD, 0 for JPY).
    labour_rate, bay_rate
        Burdened labour and bay cost for one hour.
    overhead_rate
        Overhead as a share of labour cost.
    card_fee_share
        What the card company keeps of the amount charged, tax included.
    tax_rate, tax_inclusive
        Sales tax, and whether prices are shown with it.
    target_margin, floor_margin
        Share of the price before tax that is left after cost and card fee; the
        first makes the price, the second is the least without an owner's reason.
    rounding_step
        Prices are rounded up to a multiple of this.
    deposit_share
        Share of the price asked for when a slot is booked.
    """

    currency: str
    minor_units: int
    labour_rate: Decimal
    bay_rate: Decimal
    overhead_rate: Decimal
    card_fee_share: Decimal
    tax_rate: Decimal
    tax_inclusive: bool
    target_margin: Decimal
    floor_margin: Decimal
    rounding_step: Decimal
    deposit_share: Decimal

    def __post_init__(self) -> None:
        if len(self.currency) != 3 or not (self.currency.isalpha() and self.currency.isupper()):
            raise RuleBroken(
                f"currency must be three capital letters (ISO 4217), not {self.currency!r}"
            )
        if isinstance(self.minor_units, bool) or self.minor_units not in range(5):
            raise RuleBroken(f"minor_units must be 0 to 4, not {self.minor_units!r}")
        for name in (
            "labour_rate", "bay_rate", "overhead_rate", "card_fee_share", "tax_rate",
            "target_margin", "floor_margin", "rounding_step", "deposit_share",
        ):  # fmt: skip
            if not isinstance(getattr(self, name), Decimal):
                raise RuleBroken(f"{name} must be a Decimal, not {getattr(self, name)!r}")
        positive("labour_rate", self.labour_rate)
        not_negative("bay_rate", self.bay_rate)
        not_negative("overhead_rate", self.overhead_rate)
        share_below_one("card_fee_share", self.card_fee_share)
        not_negative("tax_rate", self.tax_rate)
        share_below_one("target_margin", self.target_margin)
        share_below_one("floor_margin", self.floor_margin)
        positive("rounding_step", self.rounding_step)
        share("deposit_share", self.deposit_share)
        if self.floor_margin > self.target_margin:
            raise RuleBroken("floor_margin must not be above target_margin")
        if self.target_margin + self.card_fee_share * (1 + self.tax_rate) >= 1:
            raise RuleBroken("target_margin and card fee together must leave room for the cost")
