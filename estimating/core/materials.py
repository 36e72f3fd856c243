"""Materials: what a plan uses, what that costs, what must be bought.

Quantities are in the unit of each consumable. Coating volume follows from the
theoretical spreading rate, `m2 per litre = 10 * volume solids % / dry film um`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from estimating.core.catalogue import Catalogue
from estimating.core.catalogue_rows import CoatingLayer, Consumable, LevelPass

_ML_PER_L = 1000.0
_QUANTITY_DECIMALS = 3
_THOUSAND: int = 10**_QUANTITY_DECIMALS

Quantities = dict[str, float]


@dataclass(frozen=True, slots=True)
class MaterialLine:
    """One material of a job: what is used and charged, bought and missing.

    `short` is what the shelf lacks for this job, `buy` the purchase units that
    cover it, `left_over` what remains of these, `reorder` whether stock after the
    job is at or under the reorder point, `arrives_days` the lead time if so.
    """

    code: str
    name: str
    quantity: float
    unit: str
    cost: Decimal
    short: float
    buy: float
    left_over: float
    reorder: bool
    lead_days: int


def spreading_m2_per_l(volume_solids: float, dry_film_um: float) -> float:
    """Theoretical spreading rate in square metres a litre.

    Parameters
    ----------
    volume_solids
        Share of the liquid that stays as film, 0 to 1.
    dry_film_um
        Dry film thickness.
    """
    return 1000.0 * volume_solids / dry_film_um


def wet_film_um(volume_solids: float, dry_film_um: float, thinned_share: float = 0.0) -> float:
    """Wet film that dries to a given film; thinner is a share of the volume of paint."""
    return dry_film_um * (1 + thinned_share) / volume_solids


def layer_ml(layer: CoatingLayer, area_m2: float) -> float:
    """Millilitres of a coating layer for an area, loss on cloth and in the block included."""
    rate = spreading_m2_per_l(layer.volume_solids, layer.dry_film_um)
    return _ML_PER_L * area_m2 / rate / (1 - layer.loss_share)


def pass_quantities(passes: Iterable[LevelPass], area_m2: float) -> Quantities:
    """Compound, polish and wear of pads for some passes over an area."""
    used: Quantities = {}
    for row in passes:
        add(used, row.product, row.product_per_m2 * area_m2)
        add(used, row.pad, area_m2 / row.pad_life_m2)
    return used


def stage_quantities(
    catalogue: Catalogue, stage: str, area_m2: float = 0.0, count: int = 0, vehicles: int = 0
) -> Quantities:
    """What the usage rows of a stage come to for an area, a count and vehicles."""
    times = {"m2": area_m2, "count": float(count), "vehicle": float(vehicles)}
    used: Quantities = {}
    for row in catalogue.usages_of.get(stage, ()):
        add(used, row.consumable, row.quantity * times[row.per])
    return used


def add(used: Quantities, code: str, quantity: float) -> None:
    """Add a quantity of one consumable."""
    if quantity > 0:
        used[code] = used.get(code, 0.0) + quantity


def add_all(used: Quantities, more: Mapping[str, float]) -> None:
    """Add all quantities of another collection."""
    for code, quantity in more.items():
        used[code] = used.get(code, 0.0) + quantity


# Cost of a thousandth of a unit in the currency's smallest unit, as an exact fraction.
UnitCost = tuple[int, int]


def unit_cost_of(cost: Decimal, minor_units: int) -> UnitCost:
    """The cost of one unit as whole numbers, so that lines are quick and exact."""
    numerator, denominator = cost.as_integer_ratio()
    return numerator * 10**minor_units, denominator * 10**_QUANTITY_DECIMALS


def line_cost(unit_cost: UnitCost, quantity: float) -> int:
    """Cost of a quantity in the currency's smallest unit, rounded half up.

    The quantity counts to its thousandth.
    """
    numerator, denominator = unit_cost
    return (2 * round(quantity * _THOUSAND) * numerator + denominator) // (2 * denominator)


def total_cost(
    used: Mapping[str, float], unit_costs: Mapping[str, UnitCost], minor_units: int
) -> Decimal:
    """Cost of all materials; the sum of the rounded lines, so that it adds up."""
    total = 0
    for code, quantity in used.items():
        total += line_cost(unit_costs[code], quantity)
    return Decimal(total).scaleb(-minor_units)


def material_lines(
    used: Mapping[str, float], shelf: Mapping[str, Consumable], minor_units: int
) -> tuple[MaterialLine, ...]:
    """Lines by order of the catalogue, with shortage and purchase units."""
    lines = []
    for code, row in shelf.items():
        quantity = used.get(code, 0.0)
        if quantity <= 0:
            continue
        short = max(0.0, quantity - row.on_hand)
        units = math.ceil(short / row.purchase_size - 1e-9)
        lines.append(
            MaterialLine(
                code=code,
                name=row.name,
                quantity=round(quantity, 3),
                unit=row.unit,
                cost=total_cost(
                    {code: quantity}, {code: unit_cost_of(row.unit_cost, minor_units)}, minor_units
                ),
                short=round(short, 3),
                buy=units * row.purchase_size,
                left_over=round(units * row.purchase_size - short, 3) if units else 0.0,
                reorder=row.on_hand - quantity <= row.reorder_point,
                lead_days=row.lead_days,
            )
        )
    return tuple(lines)
