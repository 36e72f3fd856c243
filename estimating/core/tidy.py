"""Among plans that cost and clear the same, the one a technician would choose.

Panels with the same ways to be treated (a left and a right door found alike) can
change places without changing cost or cleared share. Of these arrangements the one
with the fewest changes of level between neighbouring panels is taken: the same
level on neighbours before a patchwork, unless it costs.
"""

from __future__ import annotations

from collections.abc import Sequence

from estimating.core.setting import Setting
from estimating.core.work import PanelCase


def without_patchwork(
    cases: Sequence[PanelCase], marks: Sequence[int], given: Setting
) -> tuple[int, ...]:
    """Exchange marks between twin panels while that takes away changes of level."""
    best = list(marks)
    pairs = neighbours(cases, given)
    signatures = [_signature(case) for case in cases]
    twins = [
        (one, other)
        for one in range(len(cases))
        for other in range(one + 1, len(cases))
        if signatures[one] == signatures[other]
    ]
    least = changes_of_level(cases, best, pairs)
    improved = True
    while improved:
        improved = False
        for one, other in twins:
            if best[one] == best[other]:
                continue
            best[one], best[other] = best[other], best[one]
            now = changes_of_level(cases, best, pairs)
            if now < least:
                least, improved = now, True
            else:
                best[one], best[other] = best[other], best[one]
    return tuple(best)


def neighbours(cases: Sequence[PanelCase], given: Setting) -> list[tuple[int, int]]:
    """Pairs of panels of the job that lie side by side."""
    places = {case.finding.panel: place for place, case in enumerate(cases)}
    pairs = set()
    for kind in given.catalogue.panel_kinds:
        for neighbour in kind.neighbours:
            if kind.code in places and neighbour in places:
                one, other = sorted((places[kind.code], places[neighbour]))
                pairs.add((one, other))
    return sorted(pairs)


def changes_of_level(
    cases: Sequence[PanelCase], marks: Sequence[int], pairs: Sequence[tuple[int, int]]
) -> int:
    """How many neighbouring pairs are treated at different levels."""
    levels = [case.candidates[mark].level.code for case, mark in zip(cases, marks, strict=True)]
    return sum(levels[one] != levels[other] for one, other in pairs)


def _signature(case: PanelCase) -> tuple[tuple[str, int, float, bool], ...]:
    """What two panels must share for an exchange to change nothing else.

    Gains count as equal to one part in a thousand million, cost to the cent.
    """
    return tuple(
        (way.level.code, way.cost, round(way.gain, 9), way.with_spot_work)
        for way in case.candidates
    )
