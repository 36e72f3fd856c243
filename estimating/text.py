"""An estimate as a page of plain text, panel by panel."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from estimating.cautions import cautions_for
from estimating.core.result import Estimate, PanelPlan
from estimating.core.units import film_text
from estimating.core.words import plain

_CURVE_STEPS = 10


def estimate_text(made: Estimate) -> str:
    """Write everything a technician and the desk need to know; film in the estimate's unit."""
    return "\n".join(
        line
        for part in (
            _panels(made),
            _totals(made),
            _materials(made),
            _money(made),
            _curve(made),
            _list("Why this plan", made.why),
            _list("Warnings", made.warnings),
            _list("Cautions", _cautions(made)),
        )
        for line in part
    )


def _panels(made: Estimate) -> Iterator[str]:
    if made.source == "prior":
        yield "Not inspected: what follows is expected, not measured."
    for panel in made.panels:
        yield f"{plain(panel.panel)} ({panel.substrate}, {panel.area_m2:.2f} m²)"
        yield f"  film      {_film(panel, made.unit)}"
        if panel.budget_um is not None:
            yield f"  budget    {film_text(panel.budget_um, made.unit)}"
        yield f"  level     {panel.effect.name}"
        if panel.removal_um:
            yield f"  removes   {film_text(panel.removal_um, made.unit)}"
        if panel.remainder is not None:
            p05 = film_text(panel.remainder.p05_um, made.unit)
            yield f"  left      at least {p05} with a chance of 95 %"
        yield f"  risk      {_risk(panel)}"
        for work in panel.spot_work:
            yield f"  spot work {work.count} × {plain(work.kind)}: {work.method}"
        yield f"  cleared   {panel.cleared:.0%}"
        for reason in panel.reasons:
            yield f"  because   {reason}"
        yield ""


def _film(panel: PanelPlan, unit: str) -> str:
    if panel.film is None:
        return f"unknown ({panel.condition})"
    lowest = film_text(panel.film.lowest_um, unit)
    mean = film_text(panel.film.mean_um, unit)
    return f"lowest spot {lowest}, mean {mean} ({panel.condition})"


def _risk(panel: PanelPlan) -> str:
    if panel.risk is None:
        return panel.risk_words or "unknown"
    return f"{panel.risk:.3%} of going under the floor; {panel.risk_words}"


def _totals(made: Estimate) -> Iterator[str]:
    yield f"Cleared in all    {made.cleared:.0%}"
    minutes = made.minutes
    hours = [f"{amount / 60:.1f}" for amount in (minutes.p10, minutes.p50, minutes.p90)]
    yield f"Hours of work     P10 {hours[0]}   P50 {hours[1]}   P90 {hours[2]}"
    for block in made.operations:
        how = f"{block.crew} at work" if block.attended else "unattended"
        yield f"  {block.name}: {block.minutes.p50:.0f} min, {how}"
    yield ""


def _materials(made: Estimate) -> Iterator[str]:
    if not made.materials:
        return
    yield "Materials"
    for line in made.materials:
        yield f"  {line.name}: {line.quantity:g} {line.unit}, {line.cost:f} {made.currency}"
    yield ""


def _money(made: Estimate) -> Iterator[str]:
    cost, currency = made.cost, made.currency
    yield (
        f"Cost              {cost.total:f} {currency}: labour {cost.labour:f}, bay {cost.bay:f},"
        f" materials {cost.materials:f}, overhead and card fee {cost.overhead:f}"
    )
    yield (
        f"Price             P10 {made.low.shown:f}   P50 {made.likely.shown:f}"
        f"   P90 {made.high.shown:f} {currency}, margin {made.likely.margin:.1%} at P50"
    )
    yield (f"With tax          {made.likely.gross:f} {currency} at P50, tax {made.likely.tax:f}")
    yield ""


def _curve(made: Estimate) -> Iterator[str]:
    """The finish curve, thinned to a few even steps and the chosen one."""
    if not made.curve:
        return
    stride = max(1, -(-len(made.curve) // _CURVE_STEPS))
    last = len(made.curve) - 1
    yield "Finish curve"
    for index, point in enumerate(made.curve):
        if index % stride and index != last and not point.chosen:
            continue
        mark = "  <- this plan" if point.chosen else ""
        yield f"  {point.cleared:4.0%} cleared for {point.price:f} {made.currency}{mark}"
    yield ""


def _cautions(made: Estimate) -> list[str]:
    lamps = any(block.lamps for block in made.operations)
    return cautions_for([block.stage for block in made.operations], lamps=lamps)


def _list(title: str, lines: Iterable[str]) -> Iterator[str]:
    found = list(lines)
    if not found:
        return
    yield title
    for line in found:
        yield f"  {line}"
    yield ""
