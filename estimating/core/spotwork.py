"""Spot work on deep scratches and etching: sand, fill or leave, and why."""

from __future__ import annotations

import math
from dataclasses import dataclass

from estimating.core.catalogue import Catalogue
from estimating.core.catalogue_prior import FilmPolicy, Gauge
from estimating.core.catalogue_rows import DefectProfile, SpotMethod
from estimating.core.defects import depth_sd_um, mean_depth_um, measured_cleared, share_cleared
from estimating.core.film import PanelFilm, gauge_sd_um
from estimating.core.inspection import Defect
from estimating.core.levels import LevelEffect
from estimating.core.risk import chance_below
from estimating.core.setting import Setting
from estimating.core.units import film_text


@dataclass(frozen=True, slots=True)
class SpotWork:
    """What is done about one counted defect; `row` is None where it is left.

    `bottom_um` is the film at the bottom of the mark before anything is done.
    """

    kind: str
    method: str
    count: int
    cleared: float
    bottom_um: float | None
    reason: str
    row: SpotMethod | None = None


@dataclass(frozen=True, slots=True)
class _Bottom:
    """Film at the bottom of a mark, and the depth it lies under its surroundings."""

    film_um: float
    sd_um: float
    measured: bool


def spot_work(
    defect: Defect,
    film: PanelFilm | None,
    state: str,
    level: LevelEffect,
    given: Setting,
) -> SpotWork | None:
    """Choose the method for one counted defect under a level of its panel.

    Returns None where the level itself is likely enough to clear it.
    """
    profile = profile_of(given.catalogue, defect.kind, defect.severity)
    by_level = level_clears(defect, film, level, given.hardness.clearance_factor, profile)
    count = defect.count or 0
    methods = sorted(
        (row for row in given.catalogue.spot_methods if row.kind == defect.kind),
        key=lambda row: row.order,
    )
    if methods and by_level >= methods[0].unless_cleared:
        return None
    if film is None or state != "original":
        return SpotWork(defect.kind, "leave", count, by_level, None, _LEFT[state])
    bottom = _bottom(defect, film, profile, given.gauge)
    refusals: list[str] = []
    for row in methods:
        refusal = _refusal(row, bottom, level, given.policy, given.unit)
        if refusal is None:
            reason = _reason(row, bottom, given.unit, refusals)
            cleared = max(by_level, row.cleared)
            return SpotWork(defect.kind, row.method, count, cleared, bottom.film_um, reason, row)
        refusals.append(refusal)
    reason = "; ".join(refusals) or "no spot method in the catalogue"
    return SpotWork(
        defect.kind, "leave", count, by_level, bottom.film_um, f"left: {reason}; needs refinishing"
    )


_LEFT = {
    "thin": "left: the panel is thin, sanding would go under the floor",
    "refinished": "left: refinished panel, its clear coat is unknown until a test spot",
    "unreadable": "left: no gauge reads this panel, so nothing is sanded",
    "original": "left: no reading",
}


def profile_of(catalogue: Catalogue, kind: str, severity: str) -> DefectProfile:
    """The depth distribution of a kind at a severity."""
    return catalogue.profile_of[kind, severity]


def level_clears(
    defect: Defect,
    film: PanelFilm | None,
    level: LevelEffect,
    clearance_factor: float,
    profile: DefectProfile,
) -> float:
    """Share of a defect that the level of its panel clears by itself."""
    if defect.local_reading_um is not None and film is not None:
        depth_um = film.mean_um - defect.local_reading_um
        return measured_cleared(depth_um, level.removal_um, level.removal_sd_um)
    return share_cleared(profile, level.removal_um, level.removal_sd_um, clearance_factor)


def _bottom(defect: Defect, film: PanelFilm, profile: DefectProfile, gauge: Gauge) -> _Bottom:
    if defect.local_reading_um is not None:
        sd = math.hypot(gauge_sd_um(defect.local_reading_um, gauge), gauge.repeatability_um)
        return _Bottom(defect.local_reading_um, sd, True)
    mean = film.mean_um - mean_depth_um(profile)
    sd = math.hypot(gauge_sd_um(film.mean_um, gauge), depth_sd_um(profile), film.spread_um)
    return _Bottom(mean, sd, False)


def _refusal(
    row: SpotMethod, bottom: _Bottom, level: LevelEffect, policy: FilmPolicy, unit: str
) -> str | None:
    """Say why a method must not be used here, or None where it may."""
    if row.method == "fill":
        if bottom.film_um < row.bottom_least_um:
            return (
                f"fill: bottom at {film_text(bottom.film_um, unit)} is through the colour"
                f" (least {film_text(row.bottom_least_um, unit)})"
            )
        return None
    left = bottom.film_um - row.takes_um - level.removal_um
    if left < policy.floor_um + policy.reserve_um:
        return (
            f"sanding would leave {film_text(left, unit)} at the bottom, under floor and"
            f" reserve {film_text(policy.floor_um + policy.reserve_um, unit)}"
        )
    sd = math.hypot(bottom.sd_um, row.takes_sd_um, level.removal_sd_um)
    risk = chance_below(policy.floor_um, left, sd)
    if risk > policy.max_risk:
        return f"sanding has a chance of {risk:.0%} of going under the floor at the bottom"
    return None


def _reason(row: SpotMethod, bottom: _Bottom, unit: str, refusals: list[str]) -> str:
    how = "measured" if bottom.measured else "expected, not measured"
    film = f"film at the bottom {film_text(bottom.film_um, unit)} ({how})"
    if row.method == "sand":
        return f"sand, compound, polish: {film} stays above floor and reserve"
    return f"fill, then sand, compound, polish: {film}; {'; '.join(refusals)}"
