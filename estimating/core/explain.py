"""A page of text with the origin and the formula of each number of an estimate."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from estimating.core.catalogue import Catalogue
from estimating.core.result import Estimate, PanelPlan
from estimating.core.terms import ShopTerms
from estimating.core.units import film_text
from estimating.core.words import plain

_WIDTH = 96


def explain(estimate: Estimate, catalogue: Catalogue, terms: ShopTerms) -> str:
    """Say where each number comes from.

    Parameters
    ----------
    estimate
        The answer to explain.
    catalogue, terms
        The tables and rates it was made with.

    Returns
    -------
    str
        Plain text, lines of at most 96 characters, film in the estimate's unit.
    """
    lines = ["HOW THIS ESTIMATE WAS MADE", "", *_opening(estimate)]
    for panel in estimate.panels:
        lines += ["", *_panel(panel, estimate)]
    lines += ["", *_choice(estimate), "", *_hours(estimate, catalogue)]
    lines += ["", *_materials(estimate), "", *_money(estimate, terms), ""]
    if estimate.warnings:
        lines += ["Warnings", *(f"  {warning}" for warning in estimate.warnings), ""]
    return "\n".join(wrapped for line in lines for wrapped in _wrap(line))


def _wrap(line: str) -> Iterable[str]:
    indent = " " * (len(line) - len(line.lstrip()) + 4)
    return textwrap.wrap(line, _WIDTH, subsequent_indent=indent) or [""]


def _opening(made: Estimate) -> list[str]:
    unit, policy = made.unit, made.policy
    source = {
        "inspection": "Film and defects as measured; tables and rates from the shop's catalogue.",
        "prior": "Not inspected: condition expected from age and answers, by the prior tables.",
    }[made.source]
    return [
        source,
        (
            f"Floor {film_text(policy.floor_um, unit)}, reserve"
            f" {film_text(policy.reserve_um, unit)}, chance of falling under the floor at most"
            f" {policy.max_risk:.1%} a panel."
        ),
    ]


_PLACES = {"panel": "typical place", "lowest spot": "lowest spot"}


def _panel(plan: PanelPlan, made: Estimate) -> list[str]:
    unit = made.unit
    lines = [f"{plain(plan.panel).upper()}  {plan.area_m2:.2f} m², {plan.substrate}"]
    lines.append(f"  condition   {plan.condition}: {plan.rule}")
    if plan.film is not None:
        lines.append(
            f"  film        mean {film_text(plan.film.mean_um, unit)} of {len(plan.film.spots)}"
            f" spots (each the mean of its readings), lowest"
            f" {film_text(plan.film.lowest_um, unit)}, spread {plan.film.spread_um:.1f} µm"
        )
    if plan.budget_um is not None and plan.film is not None and plan.condition != "refinished":
        lines.append(
            f"  budget      lowest − floor − reserve = {film_text(plan.film.lowest_um, unit)}"
            f" − {film_text(made.policy.floor_um, unit)}"
            f" − {film_text(made.policy.reserve_um, unit)} = {film_text(plan.budget_um, unit)}"
        )
    lines.append(f"  level       {plan.effect.name}{_passes(plan)}")
    if plan.remainder is not None and plan.risk is not None:
        left = plan.remainder
        lines.append(
            f"  left        {film_text(left.mean_um, unit)} ± {left.sd_um:.1f} µm at the"
            f" {_PLACES[left.place]}; 90 % between {film_text(left.p05_um, unit)}"
            f" and {film_text(left.p95_um, unit)}"
        )
        lines.append(
            f"  risk        normal chance of less than the floor: {plan.risk:.2%}"
            f" ({plan.risk_words})"
        )
    lines += [f"  spot work   {w.count} × {plain(w.kind)}: {w.reason}" for w in plan.spot_work]
    lines.append(
        f"  cleared     {plan.cleared:.1%}: share of the depth distribution of each kind that"
        " the removal reaches, weighted by area, severity and count"
    )
    return lines


def _passes(plan: PanelPlan) -> str:
    if not plan.effect.passes:
        return ""
    takes = " + ".join(f"{row.name} {row.removal_um:g}" for row in plan.effect.passes)
    return (
        f": {takes} µm on medium paint, {plan.removal_um:.2f} ± {plan.removal_sd_um:.2f} µm on"
        " this paint"
    )


def _choice(made: Estimate) -> list[str]:
    goal = made.goal
    if goal.cleared is not None:
        wanted = f"the cheapest plan that clears at least {goal.cleared:.0%}"
    elif goal.price_cap is not None:
        wanted = f"the plan that clears most for at most {made.currency} {goal.price_cap:,}"
    else:
        wanted = "the plan that clears most of all the film allows"
    return [
        "Choice",
        (
            f"  Goal: {wanted}. One way is taken for each panel; all combinations are compared by"
            " an exact multiple-choice knapsack on expected cost."
        ),
        f"  Result: {made.cleared:.1%} cleared; {len(made.curve)} plans stand on the curve.",
        *(f"  {sentence}" for sentence in made.why),
    ]


def _hours(made: Estimate, catalogue: Catalogue) -> list[str]:
    minutes = made.minutes
    lines = [
        "Hours",
        (
            "  Each part is log-normal: median = area ÷ coverage × access × hardness × body ×"
            " technician, plus set-up. The sum has the mean and variance of its parts, whose"
            f" logarithms correlate by {catalogue.hours.vehicle_correlation:g}."
        ),
    ]
    lines += [
        f"  {block.name}: {block.minutes.p50:.0f} min (P10 {block.minutes.p10:.0f},"
        f" P90 {block.minutes.p90:.0f})" + ("" if block.attended else ", unattended")
        for block in made.operations
    ]
    lines.append(
        f"  Labour in all: P10 {minutes.p10 / 60:.2f} h, P50 {minutes.p50 / 60:.2f} h,"
        f" P90 {minutes.p90 / 60:.2f} h"
    )
    return lines


def _materials(made: Estimate) -> list[str]:
    lines = [
        "Materials",
        (
            "  Polish by area and pass, pads by wear, coating by area ÷ (10 × volume solids % ÷ dry"
            " film µm) and loss; cost = quantity × unit cost, each line rounded half up."
        ),
    ]
    for row in made.materials:
        bought = f"; buy {row.buy:g}, {row.left_over:g} left over" if row.buy else ""
        again = f"; reorder, {row.lead_days} days" if row.reorder else ""
        lines.append(f"  {row.name}: {row.quantity:g} {row.unit} = {row.cost}{bought}{again}")
    return lines


def _money(made: Estimate, terms: ShopTerms) -> list[str]:
    cost, likely = made.cost, made.likely
    fee = "f × (1 + t)" if terms.tax_rate else "f"
    return [
        f"Money, {made.currency}",
        f"  labour      {cost.labour}: hours at P50 × {terms.labour_rate}",
        f"  bay         {cost.bay}: hours in the bay × {terms.bay_rate}",
        f"  materials   {cost.materials}: sum of the lines above",
        (
            f"  overhead    {cost.overhead}: labour × {terms.overhead_rate}, and card fee"
            f" {cost.card_fee}"
        ),
        f"  total       {cost.total}",
        (
            f"  price       net = cost before fee ÷ (1 − margin {terms.target_margin} − {fee}),"
            f" card fee f {terms.card_fee_share}, tax t {terms.tax_rate}; rounded up to"
            f" {terms.rounding_step}: {likely.shown}"
        ),
        (
            f"  range       P10 {made.low.shown}, P50 {likely.shown}, P90 {made.high.shown}: the"
            " same formula at the P10, P50 and P90 of the hours"
        ),
        (
            f"  margin      {likely.margin:.1%} of the net price (a mark-up of {likely.markup:.1%}"
            " on cost)"
        ),
        f"  tax         {likely.tax}; gross {likely.gross}",
    ]
