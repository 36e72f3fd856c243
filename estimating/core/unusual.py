"""Unusual findings, named so that a person looks twice before machine and paint meet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import median

from estimating.core.sampling import spots_to_measure
from estimating.core.setting import Setting
from estimating.core.units import film_text
from estimating.core.words import plain
from estimating.core.work import Candidate, PanelCase

_MONTHS_PER_YEAR = 12


def vehicle_unusual(cases: Sequence[PanelCase], given: Setting) -> list[str]:
    """What is unusual about the vehicle as a whole."""
    warnings = []
    substrates = {case.finding.substrate for case in cases if case.film is not None}
    if {"steel", "aluminium"} <= substrates:
        warnings.append(
            "Aluminium beside steel: the gauge must be set for each metal, and film builds may"
            " differ between them"
        )
    measured = [case for case in cases if case.film is not None]
    area_m2 = sum(case.area_m2 for case in measured)
    spots = sum(len(case.film.spots) for case in measured if case.film is not None)
    if measured and spots < (asked := spots_to_measure(area_m2)):
        few = "1 spot" if spots == 1 else f"{spots} spots"
        warnings.append(f"{few} on {area_m2:.1f} m²: too few, {asked} give a fair picture")
    return warnings


def panel_unusual(case: PanelCase, given: Setting) -> list[str]:
    """What is unusual about one panel, its name left for the caller to put before."""
    film, settings, unit = case.film, given.catalogue.film, given.unit
    if film is None:
        return []
    found = []
    if film.highest_um >= settings.filler_um:
        found.append(f"{film_text(film.highest_um, unit)} is more than paint: filler is suspected")
    means = [spot.mean_um for spot in film.spots]
    middle = median(means) if means else film.mean_um
    if case.condition.state == "original" and middle - film.lowest_um > settings.low_spot_um:
        found.append(
            f"one low spot, {film_text(film.lowest_um, unit)} where the panel reads"
            f" {film_text(middle, unit)}; it sets the budget"
        )
    return found


def panel_notes(case: PanelCase, way: Candidate, given: Setting) -> list[str]:
    """Reasons that go with a plan: edges and body lines, and film used over the years."""
    return [*_edges(case, way, given), *_history(case, way, given)]


def _edges(case: PanelCase, way: Candidate, given: Setting) -> list[str]:
    if case.budget_um is None or not way.level.passes or case.condition.state != "original":
        return []
    reserve_um = given.catalogue.film.edge_reserve_um
    if way.level.removal_um <= case.budget_um - reserve_um:
        return []
    reserve = film_text(reserve_um, given.unit)
    return [f"edges and body lines: no budget with their further reserve of {reserve}; tape them"]


def _history(case: PanelCase, way: Candidate, given: Setting) -> list[str]:
    """Film used since earlier inspections, its rate, and services left before the floor."""
    if case.film is None or not case.finding.earlier:
        return []
    first = max(case.finding.earlier, key=lambda seen: seen.months_ago)
    used_um = first.film_um - case.film.mean_um
    said = (
        f"{film_text(used_um, given.unit)} used in {first.months_ago} months"
        f" ({film_text(used_um * _MONTHS_PER_YEAR / first.months_ago, given.unit)} a year)"
    )
    taken_um = way.level.removal_um
    if case.budget_um is not None and taken_um > 0:
        left = math.floor(max(case.budget_um, 0.0) / taken_um)
        said += f"; the budget holds {left} services like this one, {plain(way.level.code)}"
    return [said]
