"""A whole job: the chosen work on all panels, the fixed work around it, its price."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from estimating.core.costing import Cost, Priced, direct_cost, price, shown_for_margin
from estimating.core.hours import (
    Part,
    Range,
    Spread,
    Sums,
    gathered,
    mean_minutes,
    merge,
    part,
    range_of,
    total_of,
)
from estimating.core.materials import (
    Quantities,
    add_all,
    layer_ml,
    stage_quantities,
    total_cost,
)
from estimating.core.setting import Setting
from estimating.core.work import Candidate, PanelCase


@dataclass(frozen=True)
class Job:
    """Labour, material and bay time of a plan; `bay_ratio` is bay per labour minute."""

    quantities: Quantities
    spread: Spread
    bay_ratio: float
    waiting_minutes: float

    def bay_minutes(self, labour_minutes: float) -> float:
        """Minutes a bay is taken when the labour comes to `labour_minutes`."""
        return labour_minutes * self.bay_ratio + self.waiting_minutes


@dataclass(frozen=True)
class JobPrice:
    """Hours and prices of a job at P10, P50 and P90."""

    minutes: Range
    p10: Priced
    p50: Priced
    p90: Priced


@dataclass(frozen=True)
class Extra:
    """Work on no panel in particular: spot work expected before anybody has looked."""

    parts: tuple[Part, ...] = ()
    quantities: Quantities = field(default_factory=dict)


_NO_EXTRA = Extra()


def assemble(
    cases: Sequence[PanelCase],
    chosen: Sequence[Candidate],
    given: Setting,
    extra: Extra = _NO_EXTRA,
) -> Job:
    """Add up a plan: panels, and the wash, taping, wipe, coating and add-ons around them."""
    sums = gathered(extra.parts)
    used: Quantities = dict(extra.quantities)
    for candidate in chosen:
        merge(sums, candidate.sums)
        add_all(used, candidate.quantities)
    return completed(cases, chosen, sums, used, given)


def completed(
    cases: Sequence[PanelCase],
    chosen: Sequence[Candidate],
    sums: Sums,
    used: Quantities,
    given: Setting,
) -> Job:
    """The job of a plan whose panels are added up already; both sums are taken over."""
    area_m2 = sum(case.area_m2 for case in cases)
    corrected = bool(sums)
    bare_m2 = area_m2
    if given.ordered.coating:
        pairs = zip(cases, chosen, strict=True)
        bare_m2 -= sum(case.area_m2 for case, way in pairs if way.level.passes)
    around = _around_once(corrected, area_m2, bare_m2, given)
    elapsed = mean_minutes(sums) + around.elapsed_minutes
    merge(sums, around.sums)
    add_all(used, around.quantities)
    spread = total_of(sums, given.catalogue.hours.vehicle_correlation)
    ratio = elapsed / spread.mean_minutes if spread.mean_minutes else 0.0
    return Job(used, spread, ratio, around.waiting_minutes)


@dataclass(frozen=True)
class _Around:
    """Work around the panels: what is common to many plans of one vehicle."""

    sums: Sums
    quantities: Quantities
    elapsed_minutes: float
    waiting_minutes: float


def _around_once(corrected: bool, area_m2: float, bare_m2: float, given: Setting) -> _Around:
    """The same work is asked for by every plan on a curve: worked out once."""
    key = (corrected, round(area_m2, 6), round(bare_m2, 6))
    found = given.memo.get(key)
    if not isinstance(found, _Around):
        used: Quantities = {}
        parts, elapsed, waiting = _around(corrected, area_m2, bare_m2, used, given)
        found = _Around(gathered(parts), used, elapsed, waiting)
        given.memo[key] = found
    return found


def _around(
    corrected: bool, area_m2: float, bare_m2: float, used: Quantities, given: Setting
) -> tuple[list[Part], float, float]:
    """Parts around the panels, their elapsed minutes and the minutes of waiting."""
    parts: list[Part] = []
    elapsed = waiting = 0.0
    ordered, stages, catalogue = given.ordered, given.stages, given.catalogue
    any_work = corrected or ordered.coating is not None or bool(ordered.add_ons)
    if ordered.wash and (any_work or ordered.wash_always):
        parts.append(part(ordered.wash.minutes * given.body.wash_factor, ordered.wash.sigma))
        add_all(used, stage_quantities(catalogue, "wash", vehicles=1))
    if corrected:
        parts.append(part(stages["mask"].minutes * given.time_factor, stages["mask"].sigma))
    if corrected or ordered.coating:
        wipe = stages["wipe"]
        unwiped_m2 = bare_m2 if ordered.coating else 0.0
        minutes = wipe.minutes + wipe.minutes_per_m2 * unwiped_m2
        parts.append(part(minutes * given.time_factor, wipe.sigma))
        add_all(used, stage_quantities(catalogue, "wipe", unwiped_m2))
    for row in ordered.add_ons:
        parts.append(part(row.minutes * given.time_factor, row.sigma))
        add_all(used, stage_quantities(catalogue, row.code, vehicles=1))
    elapsed = sum(piece.mean_minutes for piece in parts)
    if ordered.coating:
        add_all(used, stage_quantities(catalogue, "coating", area_m2))
    for index, layer in enumerate(ordered.layers):
        minutes = layer.minutes_per_m2 * area_m2 + (stages["coating"].minutes if not index else 0.0)
        one = part(minutes * given.time_factor, layer.sigma)
        elapsed += one.mean_minutes
        parts.append(Part(one.mean_minutes * layer.crew, one.sigma))
        used[layer.product] = used.get(layer.product, 0.0) + layer_ml(layer, area_m2)
        last = index == len(ordered.layers) - 1
        waiting += layer.flash_minutes if last else layer.recoat_least_minutes
    return parts, elapsed, waiting


def priced(job: Job, labour_minutes: float, given: Setting) -> Priced:
    """Price of a job whose labour comes to a number of minutes."""
    return price(_cost(job, labour_minutes, given), given.terms)


def _cost(job: Job, labour_minutes: float, given: Setting) -> Cost:
    stuff = total_cost(job.quantities, given.unit_costs, given.terms.minor_units)
    return direct_cost(labour_minutes, job.bay_minutes(labour_minutes), stuff, given.terms)


def likely_shown(job: Job, given: Setting) -> Decimal:
    """What a customer is told at the median of the labour."""
    terms = given.terms
    return shown_for_margin(_cost(job, job.spread.quantile(0.0), given), terms.target_margin, terms)


def likely_price(job: Job, given: Setting) -> Priced:
    """Price at the median of the labour."""
    return priced(job, job.spread.quantile(0.0), given)


def job_price(job: Job, given: Setting) -> JobPrice:
    """Hours and price at P10, P50 and P90 of the labour."""
    minutes = range_of(job.spread)
    return JobPrice(
        minutes,
        priced(job, minutes.p10, given),
        priced(job, minutes.p50, given),
        priced(job, minutes.p90, given),
    )
