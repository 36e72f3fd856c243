"""Adding up the ways chosen for all panels, quickly: one plan of the finish curve each.

A curve prices some hundred plans of the same few ways. Each way's sums and quantities
are laid out once in columns, so that a plan is a sum down each column.
"""

from __future__ import annotations

from collections.abc import Sequence

from estimating.core.hours import Sums
from estimating.core.materials import Quantities
from estimating.core.work import PanelCase


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
        self._rows = [
            [
                (
                    *(way.sums.get(sigma, _NONE)[0] for sigma in self._sigmas),
                    *(way.sums.get(sigma, _NONE)[1] for sigma in self._sigmas),
                    *(way.quantities.get(code, 0.0) for code in self._codes),
                )
                for way in case.candidates
            ]
            for case in cases
        ]

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


_NONE = (0.0, 0.0)
