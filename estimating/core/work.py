"""Ways to treat each panel: levels and spot work with time, material and effect."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

from estimating.core import words
from estimating.core.catalogue import Catalogue
from estimating.core.condition import Condition
from estimating.core.film import PanelFilm, budget_um
from estimating.core.hours import Part, Sums, gathered, part
from estimating.core.inspection import Defect, PanelFinding
from estimating.core.levels import LevelEffect
from estimating.core.materials import Quantities, add_all, pass_quantities, stage_quantities
from estimating.core.risk import Remainder, remainder
from estimating.core.setting import Setting
from estimating.core.spotwork import SpotWork, level_clears, profile_of, spot_work
from estimating.core.units import film_text


@dataclass(frozen=True)
class Candidate:
    """One way to treat a panel. `cost` is in whole cents of expected cost."""

    level: LevelEffect
    spots: tuple[SpotWork, ...]
    with_spot_work: bool
    parts: tuple[Part, ...]
    sums: Sums
    quantities: Quantities
    gain: float
    cost: int
    remainder: Remainder | None


@dataclass(frozen=True)
class PanelCase:
    """A panel with what was found, what is allowed, and what is not and why."""

    finding: PanelFinding
    area_m2: float
    access_factor: float
    film: PanelFilm | None
    condition: Condition
    budget_um: float | None
    weight: float
    candidates: tuple[Candidate, ...]
    refusals: tuple[str, ...]


def panel_size(catalogue: Catalogue, body: str, panel: str) -> tuple[float, float]:
    """Area in square metres and access factor of a panel on a body."""
    for row in catalogue.body_panels:
        if row.body == body and row.panel == panel:
            return row.area_m2, row.access_factor
    kind = next(row for row in catalogue.panel_kinds if row.code == panel)
    return kind.area_m2, kind.access_factor


def defect_weight(defect: Defect, area_m2: float, catalogue: Catalogue) -> float:
    """What a defect weighs in the share cleared: area by extent, or count."""
    profile = profile_of(catalogue, defect.kind, defect.severity)
    if defect.extent is not None:
        return profile.weight * area_m2 * defect.extent
    return profile.weight * (defect.count or 0)


def panel_case(
    finding: PanelFinding, film: PanelFilm | None, condition: Condition, given: Setting
) -> PanelCase:
    """Work out every allowed way to treat a panel, and the reason for each refusal."""
    area_m2, access = panel_size(given.catalogue, given.body.code, finding.panel)
    budget = None
    if film is not None and condition.state in ("original", "thin"):
        budget = budget_um(film.lowest_um, given.policy)
    tried = _tried(finding, condition, given)
    if tried is not None:
        budget = tried.removal_um
    candidates: list[Candidate] = []
    refusals: list[str] = []
    for level in given.effects:
        left = _left(film, level, given)
        refusal = _level_refusal(level, condition, budget, left, given)
        if refusal:
            refusals.append(refusal)
            continue
        sizes = (finding, film, condition, area_m2, access)
        candidates += _candidates(level, left, sizes, given)
    return PanelCase(
        finding=finding,
        area_m2=area_m2,
        access_factor=access,
        film=film,
        condition=condition,
        budget_um=budget,
        weight=sum(defect_weight(d, area_m2, given.catalogue) for d in finding.defects),
        candidates=tuple(candidates),
        refusals=tuple(refusals),
    )


def _tried(finding: PanelFinding, condition: Condition, given: Setting) -> LevelEffect | None:
    """The level a test spot has shown a refinished panel to stand."""
    if condition.state != "refinished" or finding.trial is None:
        return None
    return next(effect for effect in given.effects if effect.code == finding.trial.level)


def _left(film: PanelFilm | None, level: LevelEffect, given: Setting) -> Remainder | None:
    if film is None:
        return None
    return remainder(film, level.removal_um, level.removal_sd_um, given.gauge, given.policy)


_STATE_REFUSALS = {
    "unreadable": "film unknown, gentlest work only",
    "refinished": "refinished, clear coat unknown; a test spot is needed first",
    "thin": "thin panel",
}


def _level_refusal(
    level: LevelEffect,
    condition: Condition,
    budget: float | None,
    left: Remainder | None,
    given: Setting,
) -> str | None:
    """Why a level must not be used on a panel, or None where it may."""
    if level.code == words.LEVELS[0]:
        return None
    name = level.name.lower()
    if condition.state in _STATE_REFUSALS and (condition.state != "refinished" or budget is None):
        if condition.state == "unreadable" and level.on_unreadable:
            return None
        return f"{name} refused: {_STATE_REFUSALS[condition.state]}"
    if budget is not None and level.removal_um > budget:
        return (
            f"{name} refused: takes {film_text(level.removal_um, given.unit)},"
            f" budget {film_text(budget, given.unit)}"
        )
    if left is not None and left.risk > given.policy.max_risk:
        return (
            f"{name} refused: chance {left.risk:.1%} that film at the {left.place} falls under"
            f" the floor, limit {given.policy.max_risk:.1%}"
        )
    return None


_Sizes = tuple[PanelFinding, PanelFilm | None, Condition, float, float]


def _candidates(
    level: LevelEffect, left: Remainder | None, sizes: _Sizes, given: Setting
) -> list[Candidate]:
    """A level with its spot work and, where there is some, without."""
    finding, film, condition, area_m2, access = sizes
    found = []
    for defect in finding.defects:
        work = None
        if defect.kind in words.COUNT_KINDS:
            work = _spot(defect, film, condition, level, given)
        profile = profile_of(given.catalogue, defect.kind, defect.severity)
        share = level_clears(defect, film, level, given.hardness.clearance_factor, profile)
        found.append(_Found(defect, work, share, defect_weight(defect, area_m2, given.catalogue)))
    key = (level.code, area_m2, access)  # a left and a right door are alike
    base = cast("_Labour | None", given.memo.get(key))
    if base is None:
        base = given.memo[key] = _level_labour(level, area_m2, access, given)
    made = [_candidate(level, found, base, left, given, with_spots=True)]
    if any(entry.work and entry.work.row for entry in found):
        made.append(_candidate(level, found, base, left, given, with_spots=False))
    return made


@dataclass(frozen=True, slots=True)
class _Found:
    """A defect under a level: spot work on it, what the level clears, what it weighs."""

    defect: Defect
    work: SpotWork | None
    share: float
    weight: float


_Labour = tuple[tuple[Part, ...], Quantities]


def _spot(
    defect: Defect,
    film: PanelFilm | None,
    condition: Condition,
    level: LevelEffect,
    given: Setting,
) -> SpotWork | None:
    return spot_work(defect, film, condition.state, level, given)


def _candidate(
    level: LevelEffect,
    found: Sequence[_Found],
    base: _Labour,
    left: Remainder | None,
    given: Setting,
    with_spots: bool,
) -> Candidate:
    spots = []
    gain = 0.0
    for entry in found:
        work, share = entry.work, entry.share
        if work is not None and not with_spots and work.row:
            work = SpotWork(
                work.kind, "leave", work.count, share, work.bottom_um,
                "left: not within the price asked for",
            )  # fmt: skip
        if work is not None:
            spots.append(work)
            share = work.cleared
        gain += share * entry.weight
    parts, quantities = _with_spot_labour(base, spots, given)
    return Candidate(
        level=level,
        spots=tuple(spots),
        with_spot_work=with_spots,
        parts=parts,
        sums=gathered(parts),
        quantities=quantities,
        gain=gain,
        cost=expected_cost(parts, quantities, given),
        remainder=left,
    )


def _level_labour(level: LevelEffect, area_m2: float, access: float, given: Setting) -> _Labour:
    """Parts of a level's work on one panel and the material it uses."""
    parts: list[Part] = []
    used: Quantities = {}
    model, catalogue = given.catalogue.hours, given.catalogue
    if level.passes:
        setup = model.panel_setup_minutes + sum(row.setup_minutes for row in level.passes)
        parts.append(part(setup * given.time_factor, model.setup_sigma))
        parts += [pass_part(row.coverage_m2_per_hour, row.sigma, area_m2, access, given)
                  for row in level.passes]  # fmt: skip
        add_all(used, pass_quantities(level.passes, area_m2))
        add_all(used, stage_quantities(catalogue, "correction", area_m2))
        for code in ("mask", "wipe"):
            stage = given.stages[code]
            parts.append(part(stage.minutes_per_m2 * area_m2 * given.time_factor, stage.sigma))
            add_all(used, stage_quantities(catalogue, code, area_m2))
    return tuple(parts), used


def _with_spot_labour(base: _Labour, spots: Sequence[SpotWork], given: Setting) -> _Labour:
    """The same with the spot work that comes before it."""
    rows = [work for work in spots if work.row]
    if not rows:
        return base
    parts, used = list(base[0]), dict(base[1])
    for work in rows:
        assert work.row is not None
        minutes = work.row.minutes * work.count * given.time_factor
        parts.append(part(minutes, work.row.sigma))
        add_all(used, stage_quantities(given.catalogue, f"spot_{work.method}", count=work.count))
    return tuple(parts), used


def pass_part(
    coverage_m2_per_hour: float, sigma: float, area_m2: float, access: float, given: Setting
) -> Part:
    """Time of one pass over one panel: area by rate, access, hardness, body and person."""
    minutes = 60.0 * area_m2 / coverage_m2_per_hour * access * given.hardness.time_factor
    return part(minutes * given.time_factor, sigma)


def expected_cost(parts: Sequence[Part], quantities: Quantities, given: Setting) -> int:
    """Expected direct cost in whole smallest units, for choosing between plans."""
    time = given.minute_cost * sum([piece.mean_minutes for piece in parts])
    stuff = sum([given.piece_costs[code] * quantity for code, quantity in quantities.items()])
    return round((time + stuff) * float(10**given.terms.minor_units))
