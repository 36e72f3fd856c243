"""What a quote keeps: plain JSON that can be read, and worked out again, years later."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, fields, replace
from decimal import Decimal
from statistics import NormalDist
from typing import Any, Final

from estimating.core.catalogue import Catalogue, catalogue_from_dict, catalogue_to_dict
from estimating.core.costing import Priced, deposit
from estimating.core.estimate import estimate
from estimating.core.formats import read_inspection
from estimating.core.hours import Range
from estimating.core.inspection import Goal
from estimating.core.materials import MaterialLine
from estimating.core.operations import Operation
from estimating.core.options import Options
from estimating.core.result import Estimate
from estimating.core.terms import ShopTerms
from shop.models import Attendance

GRID_MINUTES: Final = 5
_LEAST_MINUTES: Final = 0.01
_Z90: Final = NormalDist().inv_cdf(0.9)
_LONGEST_NAME: Final = 120


def goal_part(goal: Goal | Mapping[str, Any]) -> dict[str, Any]:
    """A goal in the form of the document; a mapping is passed on to be checked there."""
    if isinstance(goal, Mapping):
        return dict(goal)
    if goal.cleared is not None:
        return {"cleared": goal.cleared}
    if goal.price_cap is not None:
        return {"price_cap": float(goal.price_cap)}
    return {"safest_best": True}


def options_part(options: Options) -> dict[str, Any]:
    """Options as JSON."""
    return {**asdict(options), "add_ons": list(options.add_ons)}


def options_from(part: Mapping[str, Any]) -> Options:
    """Options from what :func:`options_part` wrote."""
    return Options(**{**part, "add_ons": tuple(part["add_ons"])})


def terms_part(terms: ShopTerms) -> dict[str, Any]:
    """Terms as JSON; amounts as text, so that no cent is lost."""
    values = {field.name: getattr(terms, field.name) for field in fields(terms)}
    return {name: str(v) if isinstance(v, Decimal) else v for name, v in values.items()}


def terms_from(part: Mapping[str, Any]) -> ShopTerms:
    """Terms from what :func:`terms_part` wrote."""
    plain = ("currency", "minor_units", "tax_inclusive")
    values: dict[str, Any] = {n: v if n in plain else Decimal(v) for n, v in part.items()}
    return ShopTerms(**values)


def offer_part(
    priced: Priced, terms: ShopTerms, discount_share: Decimal | None = None, reason: str = ""
) -> dict[str, Any]:
    """The price that was offered, the deposit on it, and what stands behind it."""
    cost = {field.name: str(getattr(priced.cost, field.name)) for field in fields(priced.cost)}
    amounts = ("shown", "net", "tax", "gross", "margin")
    part = {**{name: str(getattr(priced, name)) for name in amounts}, "cost": cost}
    part["deposit"] = str(deposit(priced, terms))
    if discount_share:
        part["discount_share"] = str(discount_share)
        if reason:
            part["discount_reason"] = reason
    return part


def deposit_of(parameters: Mapping[str, Any]) -> Decimal:
    """What is asked for when a visit is booked; 0 for a quote that says nothing of it."""
    return Decimal(parameters.get("offer", {}).get("deposit", 0))


def discount_of(parameters: Mapping[str, Any]) -> Decimal:
    """The share that was taken off the price, 0 for none."""
    return Decimal(parameters.get("offer", {}).get("discount_share", 0))


def coating_of(request: Mapping[str, Any], parameters: Mapping[str, Any]) -> dict[str, Any] | None:
    """The coating system as it was when the quote was made."""
    code = request.get("options", {}).get("coating")
    systems = parameters.get("catalogue", {}).get("coating_systems", [])
    return next((row for row in systems if row["code"] == code), None)


def document_with(request: Mapping[str, Any], goal: Goal | Mapping[str, Any]) -> dict[str, Any]:
    """The findings of a quote with another goal."""
    return {**request["document"], "goal": goal_part(goal)}


def basis_of(parameters: Mapping[str, Any]) -> tuple[Catalogue, ShopTerms]:
    """The tables and rates of a quote, as they were when it was made."""
    return catalogue_from_dict(parameters["catalogue"]), terms_from(parameters["terms"])


def was_chosen(request: Mapping[str, Any]) -> bool:
    """Whether a customer chose this beside what the shop had offered."""
    return bool(request.get("chosen"))


def used_rows(catalogue: Catalogue, document: Mapping[str, Any], options: Options) -> Catalogue:
    """The part of a catalogue that an estimate of ``document`` can have looked at."""
    body = document["vehicle"]["body"]
    inspected = {panel["panel"] for panel in document["panels"]}
    rows = [row for row in catalogue.body_panels if row.body == body]
    if inspected:
        rows = [row for row in rows if row.panel in inspected]
        # The expectation before an inspection was not asked.
        catalogue = replace(
            catalogue, prior_grades=(), prior_ages=(), prior_shares=(), prior_defects=()
        )
    panels = inspected or {row.panel for row in rows}
    system = options.coating
    return replace(
        catalogue,
        body_panels=tuple(rows),
        bodies=tuple(row for row in catalogue.bodies if row.code == body),
        panel_kinds=tuple(row for row in catalogue.panel_kinds if row.code in panels),
        coating_systems=tuple(row for row in catalogue.coating_systems if row.code == system),
        coating_layers=tuple(row for row in catalogue.coating_layers if row.system == system),
        add_ons=tuple(row for row in catalogue.add_ons if row.code in options.add_ons),
    )


def parameters_part(
    catalogue: Catalogue, document: Mapping[str, Any], options: Options, terms: ShopTerms
) -> dict[str, Any]:
    """The rows and rates that an estimate was made with."""
    rows = catalogue_to_dict(used_rows(catalogue, document, options))
    return {"catalogue": rows, "terms": terms_part(terms)}


def estimate_again(request: Mapping[str, Any], parameters: Mapping[str, Any]) -> Estimate:
    """The estimate of a quote, worked out again from nothing but its own snapshot."""
    return estimate(
        read_inspection(request["document"]),
        catalogue_from_dict(parameters["catalogue"]),
        terms_from(parameters["terms"]),
        options_from(request["options"]),
    )


def quantile_minutes(minutes: Range, share: float) -> float:
    """Minutes within which a share of such operations is done.

    A log-normal through P50 and P90; ``share`` is kept between 0.01 and 0.99, since
    nothing fits everything.
    """
    if minutes.p50 <= 0:
        return minutes.p90
    sigma = math.log(minutes.p90 / minutes.p50) / _Z90
    z = NormalDist().inv_cdf(min(max(share, 0.01), 0.99))
    return minutes.p50 * math.exp(z * sigma)


def operation_parts(made: Estimate, plan_quantile: float) -> list[dict[str, Any]]:
    """The work as fields of ``shop.Operation``, in the order it is done."""
    blocks = [block for block in made.operations if block.minutes.p90 > 0]
    return [
        _operation_part(block, sequence, plan_quantile)
        for sequence, block in enumerate(blocks, start=1)
    ]


def _operation_part(block: Operation, sequence: int, plan_quantile: float) -> dict[str, Any]:
    planned = quantile_minutes(block.minutes, plan_quantile)
    # A hundredth of a minute of rounding must not cost five minutes.
    steps = math.ceil(round(planned / GRID_MINUTES, 3))
    return {
        "sequence": sequence,
        "kind": block.stage,
        "name": block.name[:_LONGEST_NAME],
        "attendance": _attendance(block).value,
        "bay_capability": block.bay,
        "skill": "" if block.skill == "none" else block.skill,
        "crew_count": block.crew,
        "lamps": block.lamps,
        "minutes_p10": _minutes(block.minutes.p10),
        "minutes_p50": _minutes(block.minutes.p50),
        "minutes_p90": _minutes(block.minutes.p90),
        "planned_minutes": max(1, steps) * GRID_MINUTES,
        "lag_min_minutes": block.lag_min,
        "lag_max_minutes": block.lag_max,
        "same_bay": block.same_spot,
    }


def _attendance(block: Operation) -> Attendance:
    if not block.attended:
        return Attendance.UNATTENDED
    return Attendance.PAUSABLE if block.pausable else Attendance.THROUGH


def _minutes(minutes: float) -> float:
    return max(round(minutes, 2), _LEAST_MINUTES)


def material_parts(made: Estimate) -> list[dict[str, Any]]:
    """What the work uses and what that costs; amounts as text."""
    return [_material_part(line) for line in made.materials if line.quantity > 0]


def _material_part(line: MaterialLine) -> dict[str, Any]:
    return {
        "code": line.code,
        "name": line.name,
        "quantity": str(Decimal(repr(line.quantity))),
        "unit": line.unit,
        "cost": str(line.cost),
    }


def title_of(made: Estimate, catalogue: Catalogue) -> str:
    """What is offered, in a line."""
    order = {row.code: row.order for row in catalogue.levels}
    names = {row.code: row.name for row in catalogue.levels}
    levels = {panel.level for panel in made.panels if panel.effect.passes}
    words = []
    if levels:
        words.append(f"{names[max(levels, key=order.__getitem__)]} correction")
    if any(work.row for panel in made.panels for work in panel.spot_work):
        words.append("spot work")
    words += [row.name for row in catalogue.coating_systems if row.code == made.options.coating]
    words += [row.name for row in catalogue.add_ons if row.code in made.options.add_ons]
    words = words or [block.name for block in made.operations]
    return ", ".join(words)[:160]
