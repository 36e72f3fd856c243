"""Adding up the ways chosen for all panels, quickly: one plan of the finish curve each.

A curve prices some hundred plans of the same few ways. Each way's sums and quantities
are laid out once in columns, so that a plan is a sum down each column.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from estimating.core.hours import Sums
from estimating.core.materials import Quantities
from estimating.core.work import Candidate, PanelCase


class Tally:
    """Sums of work and material over one way for each panel.

    Parameters
    ----------
    cases
        The panels with all their ways.
    """

    def __init__(self, cases: Sequence[PanelCase]) -> None:
        ways = [way for case in cases for way in case.candidates]
        self._sigmas = list(dict.fromkeys(sigma for way in ways for sigma in way.sums))
        self._codes = list(dict.fromkeys(code for way in ways for code in way.quantities))
        keys: list[float | str] = [*self._sigmas, *self._codes]
        places = {key: place for place, key in enumerate(keys)}
        self._rows = [[self._row(way, places) for way in case.candidates] for case in cases]

    def _row(self, way: Candidate, places: Mapping[float | str, int]) -> list[float]:
        """Minutes by sigma, their squares by sigma, quantities by code."""
        count = len(self._sigmas)
        row = [0.0] * (count + len(places))
        for sigma, (amount, square) in way.sums.items():
            place = places[sigma]
            row[place], row[place + count] = amount, square
        for code, quantity in way.quantities.items():
            row[places[code] + count] = quantity
        return row

    def of(self, marks: Sequence[int]) -> tuple[Sums, Quantities]:
        """Sums by sigma and quantities by code of the ways that have these marks."""
        rows = [ways[mark] for ways, mark in zip(self._rows, marks, strict=True)]
        columns = [sum(column) for column in zip(*rows, strict=True)]
        count = len(self._sigmas)
        pairs = zip(columns[:count], columns[count : 2 * count], strict=True)
        sums = {sigma: pair for sigma, pair in zip(self._sigmas, pairs, strict=True) if pair[0] > 0}
        used = {
            code: amount
            for code, amount in zip(self._codes, columns[2 * count :], strict=True)
            if amount > 0
        }
        return sums, used
