"""What an estimate looks up more than once: tables, terms, policy, options."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from estimating.core.catalogue import Catalogue
from estimating.core.catalogue_prior import FilmPolicy, Gauge
from estimating.core.catalogue_rows import Body, Consumable, Hardness, Stage
from estimating.core.inspection import PanelFinding
from estimating.core.levels import LevelEffect, level_effects
from estimating.core.materials import UnitCost, unit_cost_of
from estimating.core.options import Ordered
from estimating.core.terms import ShopTerms
from estimating.core.trial import PaintRates, learn


@dataclass(frozen=True)
class Setting:
    """Everything an estimate looks up more than once; `memo` keeps work shared by plans.

    `minute_cost` and `piece_costs` are expected costs, for choosing between plans;
    what is charged goes by `unit_costs` and the terms, exactly.
    """

    catalogue: Catalogue
    terms: ShopTerms
    policy: FilmPolicy
    gauge: Gauge
    hardness: Hardness
    body: Body
    effects: tuple[LevelEffect, ...]
    stages: Mapping[str, Stage]
    shelf: Mapping[str, Consumable]
    ordered: Ordered
    time_factor: float
    unit: str
    rates: PaintRates
    unit_costs: Mapping[str, UnitCost]
    minute_cost: float
    piece_costs: Mapping[str, float]
    memo: dict[object, object] = field(default_factory=dict)


def setting(
    *,
    catalogue: Catalogue,
    terms: ShopTerms,
    policy: FilmPolicy,
    gauge: Gauge,
    hardness: str,
    body: str,
    chosen: Ordered,
    unit: str,
    findings: Sequence[PanelFinding] = (),
) -> Setting:
    """Gather what an estimate needs; KeyError where the catalogue lacks a row."""
    hardness_row = next(row for row in catalogue.hardnesses if row.code == hardness)
    body_row = next(row for row in catalogue.bodies if row.code == body)
    effects = level_effects(catalogue, hardness_row)
    rates = learn(findings, effects, catalogue, gauge, hardness_row.clearance_factor)
    if rates.trials:
        rate_sd = rates.removal_sd * hardness_row.removal_factor
        hardness_row = replace(
            hardness_row,
            removal_factor=hardness_row.removal_factor * rates.removal,
            clearance_factor=hardness_row.clearance_factor * rates.clearance,
        )
        effects = level_effects(catalogue, hardness_row, rate_sd)
    person = chosen.technician.time_factor if chosen.technician else 1.0
    return Setting(
        catalogue=catalogue,
        terms=terms,
        policy=policy,
        gauge=gauge,
        hardness=hardness_row,
        body=body_row,
        effects=effects,
        rates=rates,
        stages={row.code: row for row in catalogue.stages},
        minute_cost=float(terms.labour_rate * (1 + terms.overhead_rate) + terms.bay_rate) / 60.0,
        piece_costs={row.code: float(row.unit_cost) for row in catalogue.consumables},
        unit_costs={
            row.code: unit_cost_of(row.unit_cost, terms.minor_units)
            for row in catalogue.consumables
        },
        shelf={row.code: row for row in catalogue.consumables},
        ordered=chosen,
        time_factor=body_row.time_factor * person,
        unit=unit,
    )
