"""Smallest units of currencies, and rounding to them."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from typing import Final

# ISO 4217: currencies whose smallest unit is not a hundredth. Funds codes are
# left out, except CLF, since no shop quotes in them.
_NOT_TWO: Final = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
_PLACES: Final = {code: places for places, codes in _NOT_TWO.items() for code in codes.split()}


def minor_units(currency: str) -> int:
    """Decimal places of a currency (ISO 4217 code): 2 for USD, 0 for JPY, 3 for KWD."""
    return _PLACES.get(currency, 2)


def rounded(amount: Decimal, currency: str) -> Decimal:
    """Round an amount half up to the currency's smallest unit."""
    return amount.quantize(Decimal(1).scaleb(-minor_units(currency)), ROUND_HALF_UP)
