"""Judging panels: original, refinished, thin or unreadable, with the rule that fired."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from estimating.core.catalogue_prior import FilmPolicy, FilmSettings
from estimating.core.film import PanelFilm, budget_um
from estimating.core.inspection import PanelFinding
from estimating.core.robust import modified_scores
from estimating.core.units import film_text


@dataclass(frozen=True, slots=True)
class Condition:
    """The state of a panel and the rule by which it was found."""

    state: str
    rule: str


def judge(
    findings: Mapping[str, PanelFinding],
    films: Mapping[str, PanelFilm | None],
    policy: FilmPolicy,
    settings: FilmSettings,
    unit: str,
) -> dict[str, Condition]:
    """Judge every panel of a vehicle.

    Outliers are sought among the lowest spots, so that one more high spot on some
    panel can never make a refinished panel look ordinary.
    """
    readable = {
        name: film
        for name, film in films.items()
        if film is not None and readable_by_gauge(findings[name])
    }
    scores = _scores(readable, settings)
    return {
        name: (
            Condition("unreadable", "protection film over the paint: readings are not paint")
            if findings[name].covered
            else _judge_one(readable.get(name), scores.get(name), policy, settings, unit)
        )
        for name in findings
    }


def readable_by_gauge(finding: PanelFinding) -> bool:
    """Whether readings of a panel are readings of its paint."""
    return finding.substrate != "composite" and not finding.covered


def _scores(
    readable: Mapping[str, PanelFilm], settings: FilmSettings
) -> dict[str, tuple[float, float]]:
    """Score and difference from the vehicle's middle, by panel."""
    if len(readable) < settings.outlier_least_panels:
        return {}
    lows = [film.lowest_um for film in readable.values()]
    scores = modified_scores(lows)
    if scores is None:
        return {}
    middle = sorted(lows)[len(lows) // 2]
    return {
        name: (score, low - middle) for name, score, low in zip(readable, scores, lows, strict=True)
    }


def _judge_one(
    film: PanelFilm | None,
    score: tuple[float, float] | None,
    policy: FilmPolicy,
    settings: FilmSettings,
    unit: str,
) -> Condition:
    if film is None:
        return Condition("unreadable", "composite panel: the gauge reads no film here")
    rule = _refinished(film, score, settings, unit)
    if rule is not None:
        return Condition("refinished", rule)
    rule = _thin(film, policy, settings, unit)
    if rule is not None:
        return Condition("thin", rule)
    return Condition("original", "readings like factory paint, no rule fired")


def _refinished(
    film: PanelFilm, score: tuple[float, float] | None, settings: FilmSettings, unit: str
) -> str | None:
    """The rule by which a panel has been refinished: level, outlier, or uneven spots."""
    if film.highest_um >= settings.refinished_um:
        limit = film_text(settings.refinished_um, unit)
        return f"a spot reads {film_text(film.highest_um, unit)}, at or above {limit}"
    if score and score[0] > settings.outlier_score and score[1] >= settings.outlier_least_um:
        return (
            f"stands {film_text(score[1], unit)} above the vehicle's other panels"
            f" (modified z {score[0]:.1f}, limit {settings.outlier_score:g})"
        )
    if film.highest_um - film.lowest_um >= settings.outlier_least_um:
        return (
            f"one spot stands {film_text(film.highest_um - film.lowest_um, unit)} above another:"
            " part of the panel has been refinished"
        )
    return None


def _thin(film: PanelFilm, policy: FilmPolicy, settings: FilmSettings, unit: str) -> str | None:
    """The rule by which a panel is too thin: level, or nothing above floor and reserve."""
    lowest = f"lowest spot {film_text(film.lowest_um, unit)}"
    if film.lowest_um < settings.thin_um:
        return f"{lowest} is under {film_text(settings.thin_um, unit)}"
    if budget_um(film.lowest_um, policy) <= 0:
        return (
            f"{lowest} leaves nothing above floor {film_text(policy.floor_um, unit)}"
            f" and reserve {film_text(policy.reserve_um, unit)}"
        )
    return None
