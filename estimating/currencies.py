"""Decimal places of currencies (ISO 4217, column "minor unit" of list one)."""

from __future__ import annotations

from typing import Final

_USUAL: Final = 2
_OTHERS: Final = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF",
    3: "BHD IQD JOD KWD LYD OMR TND",
}
_PLACES: Final = {code: places for places, codes in _OTHERS.items() for code in codes.split()}


def minor_units(currency: str) -> int:
    """Decimal places in which amounts of a currency are paid: 2 unless the list says other."""
    return _PLACES.get(currency, _USUAL)
