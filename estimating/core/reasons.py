"""Why: sentences for each panel and for the vehicle, and the panel's record."""

from __future__ import annotations

from collections.abc import Sequence

from estimating.core import words
from estimating.core.calibration import calibration_warnings
from estimating.core.inspection import Goal, Inspection
from estimating.core.result import PanelPlan
from estimating.core.risk import risk_in_words
from estimating.core.setting import Setting
from estimating.core.units import film_text
from estimating.core.unusual import panel_notes, panel_unusual, vehicle_unusual
from estimating.core.words import plain
from estimating.core.work import Candidate, PanelCase


def panel_plan(case: PanelCase, way: Candidate, given: Setting) -> PanelPlan:
    """Write down what one way of treating a panel means."""
    left = way.remainder if case.condition.state != "unreadable" else None
    risk = left.risk if left else None
    return PanelPlan(
        panel=case.finding.panel,
        substrate=case.finding.substrate,
        area_m2=case.area_m2,
        film=case.film,
        condition=case.condition.state,
        rule=case.condition.rule,
        budget_um=case.budget_um,
        defects=case.finding.defects,
        level=way.level.code,
        effect=way.level,
        removal_um=way.level.removal_um,
        removal_sd_um=way.level.removal_sd_um,
        remainder=left,
        risk=risk,
        risk_words=risk_in_words(risk),
        spot_work=way.spots,
        cleared=min(1.0, way.gain / case.weight) if case.weight else 1.0,
        reasons=tuple(_reasons(case, way, given)),
    )


def _reasons(case: PanelCase, way: Candidate, given: Setting) -> list[str]:
    unit = given.unit
    reasons = [f"{case.condition.state}: {case.condition.rule}"]
    if case.condition.state == "refinished" and case.finding.trial:
        reasons.append("a test spot held: no more than was tried there")
    elif case.film is not None and case.budget_um is not None:
        reasons.append(
            f"budget {film_text(case.budget_um, unit)}: lowest spot"
            f" {film_text(case.film.lowest_um, unit)} less floor"
            f" {film_text(given.policy.floor_um, unit)} less reserve"
            f" {film_text(given.policy.reserve_um, unit)}"
        )
    if way.level.passes:
        passes = ", then ".join(row.name for row in way.level.passes)
        reasons.append(
            f"{way.level.name.lower()}: {passes}; takes"
            f" {film_text(way.level.removal_um, unit)} on {given.hardness.code} paint"
        )
    elif not case.finding.defects:
        reasons.append("no correction: nothing found")
    elif not any(work.row for work in way.spots):
        reasons.append("no correction in this plan")
    reasons += [f"{plain(work.kind)}: {work.reason}" for work in way.spots]
    reasons += panel_notes(case, way, given)
    reasons += case.refusals
    return reasons


def status_warning(status: str, goal: Goal, cleared: float) -> list[str]:
    """Say that a goal is not met, and what is met instead."""
    if status == "film_limit" and goal.cleared is not None:
        allowed = f"The film allows {cleared:.1%} of defects to be cleared"
        return [f"{allowed}, less than the {goal.cleared:.1%} asked for"]
    if status == "cap_too_low":
        return [f"Even the least job costs more than the cap of {goal.price_cap}"]
    return []


def vehicle_warnings(
    inspection: Inspection,
    cases: Sequence[PanelCase],
    chosen: Sequence[Candidate],
    given: Setting,
) -> list[str]:
    """Things a person should know before work starts."""
    warnings = calibration_warnings(
        inspection.calibration, given.gauge, given.catalogue.film, given.unit
    )
    warnings += vehicle_unusual(cases, given)
    warnings += _learned(given)
    for case, way in zip(cases, chosen, strict=True):
        name = plain(case.finding.panel).capitalize()
        state = case.condition.state
        if state == "refinished" and case.finding.trial:
            warnings.append(f"{name}: refinished; corrected no further than its test spot showed")
        elif state == "refinished":
            warnings.append(
                f"{name}: refinished, so the clear coat is unknown; no correction without"
                " a test spot"
            )
        elif state == "thin":
            warnings.append(f"{name}: thin film, no correction")
        elif state == "unreadable":
            text = "no gauge reading; gentlest work only"
            if case.finding.spots and not case.finding.covered:
                text += " (readings on a composite panel are not used)"
            if case.finding.covered:
                text = "protection film over the paint; gentlest work only"
            warnings.append(f"{name}: {text}")
        warnings += _reading_warnings(name, case, given)
        warnings += [f"{name}: {text}" for text in panel_unusual(case, given)]
        if any(work.method == words.METHODS[2] and not work.row for work in way.spots):
            warnings.append(f"{name}: some marks are left, see the reasons")
    return warnings


def _learned(given: Setting) -> list[str]:
    """Say what test spots taught about the paint."""
    rates = given.rates
    if not rates.trials:
        return []
    film = f"{rates.removal:.0%} of the film the tables expect"
    sure = f"(give or take {rates.removal_sd:.0%})"
    return [
        f"Test spots: this paint gives {film} {sure}, clears at {rates.clearance:.0%} of their rate"
    ]


def _reading_warnings(name: str, case: PanelCase, given: Setting) -> list[str]:
    if case.film is None:
        return []
    warnings = []
    for number, spot in enumerate(case.film.spots, start=1):
        if spot.set_aside:
            values = ", ".join(film_text(value, given.unit) for value in spot.set_aside)
            warnings.append(
                f"{name}, spot {number}: {values} stands far above the other readings and was"
                " set aside; measure again"
            )
    return warnings
