"""One verb: findings, catalogue and terms in, an estimate out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from estimating.core.catalogue import Catalogue
from estimating.core.checks import RuleBroken
from estimating.core.condition import judge
from estimating.core.costing import direct_cost, price
from estimating.core.errors import InputRefused, Problem
from estimating.core.film import panel_film
from estimating.core.hours import Range
from estimating.core.inspection import Inspection
from estimating.core.job import Job, JobPrice, job_price
from estimating.core.materials import material_lines, total_cost
from estimating.core.operations import operations
from estimating.core.options import Options, ordered
from estimating.core.phone import (
    GradePlans,
    UniformPlan,
    grade_plans,
    hour_cases,
    price_cases,
    rank_questions,
)
from estimating.core.prior import Expectation, mixture_quantile, vehicle_expectation
from estimating.core.reasons import panel_plan, status_warning, vehicle_warnings
from estimating.core.result import CurvePoint, Estimate
from estimating.core.select import select
from estimating.core.setting import Setting, setting
from estimating.core.terms import ShopTerms
from estimating.core.why import why_not
from estimating.core.work import Candidate, PanelCase, panel_case

_QUANTILES = (0.10, 0.50, 0.90)


def estimate(
    inspection: Inspection,
    catalogue: Catalogue,
    terms: ShopTerms,
    options: Options | None = None,
) -> Estimate:
    """Estimate a vehicle.

    Parameters
    ----------
    inspection
        What was found; with no panels the estimate comes from the prior.
    catalogue
        The shop's tables.
    terms
        The shop's rates and margins.
    options
        Wash, coating, add-ons, technician; None for a standard wash and no more.

    Raises
    ------
    InputRefused
        If an answer or an option is not in the catalogue.
    """
    options = options or Options()
    _check_against(inspection, catalogue)
    given = setting_for(inspection, catalogue, terms, options)
    if inspection.panels:
        return _from_findings(inspection, given, options)
    return _from_prior(inspection, given, options)


def _check_against(inspection: Inspection, catalogue: Catalogue) -> None:
    problems = []
    for question, answer in inspection.vehicle.answers().items():
        known = [row.code for row in catalogue.prior_answers if row.question == question]
        if answer not in known:
            remedy = f"use one of {', '.join(known)}, or leave it out where it is not known"
            problems.append(Problem(f"$.vehicle.{question}", answer, remedy))
    if problems:
        raise InputRefused(problems)


def setting_for(
    inspection: Inspection, catalogue: Catalogue, terms: ShopTerms, options: Options
) -> Setting:
    """Tables, terms and paint of one vehicle, as its estimate looks them up."""
    vehicle = inspection.vehicle
    try:
        chosen = ordered(options, vehicle.body, catalogue)
    except RuleBroken as error:
        raise InputRefused([Problem("options", options, str(error))]) from error
    return setting(
        catalogue=catalogue,
        terms=terms,
        policy=inspection.policy.over(catalogue.policy),
        gauge=inspection.gauge.over(catalogue.gauge),
        hardness=vehicle.hardness,
        body=vehicle.body,
        chosen=chosen,
        unit=inspection.unit,
        findings=inspection.panels,
    )


def panel_cases(inspection: Inspection, given: Setting) -> list[PanelCase]:
    """Every panel that was read, judged, with all the ways it may be treated."""
    settings = given.catalogue.film
    findings = {finding.panel: finding for finding in inspection.panels}
    films = {
        name: panel_film(finding.spots, given.gauge, settings) for name, finding in findings.items()
    }
    conditions = judge(findings, films, given.policy, settings, given.unit)
    readable = {
        name: film if conditions[name].state != "unreadable" else None
        for name, film in films.items()
    }
    return [
        panel_case(finding, readable[name], conditions[name], given)
        for name, finding in findings.items()
    ]


def _from_findings(inspection: Inspection, given: Setting, options: Options) -> Estimate:
    cases = panel_cases(inspection, given)
    selection, chooser = select(cases, inspection.goal, given)
    chosen = chooser.ways(selection.chosen.marks)
    job = chooser.job(selection.chosen.marks)
    prices = job_price(job, given)
    warnings = [
        *status_warning(selection.status, inspection.goal, selection.chosen.cleared),
        *vehicle_warnings(inspection, cases, chosen, given),
    ]
    made = _Parts(cases, chosen, job, prices, selection.chosen.cleared)
    curve = tuple(
        CurvePoint(
            plan.cleared,
            plan.price,
            chooser.levels(plan.marks),
            plan.marks == selection.chosen.marks,
        )
        for plan in selection.curve
    )
    base = _build("inspection", selection.status, inspection, given, options, made)
    return replace(
        base,
        curve=curve,
        warnings=(*warnings, *_stock_warnings(base)),
        why=why_not(curve, inspection.goal, given.terms.currency),
    )


@dataclass(frozen=True)
class _Parts:
    """What both kinds of estimate have in common before it is written down."""

    cases: Sequence[PanelCase]
    chosen: Sequence[Candidate]
    job: Job
    prices: JobPrice
    cleared: float


def _build(
    source: str,
    status: str,
    inspection: Inspection,
    given: Setting,
    options: Options,
    made: _Parts,
) -> Estimate:
    terms = given.terms
    return Estimate(
        source=source,
        status=status,
        unit=inspection.unit,
        currency=terms.currency,
        policy=given.policy,
        goal=inspection.goal,
        options=options,
        panels=tuple(
            panel_plan(case, way, given) for case, way in zip(made.cases, made.chosen, strict=True)
        ),
        cleared=made.cleared,
        minutes=made.prices.minutes,
        materials=material_lines(made.job.quantities, given.shelf, terms.minor_units),
        cost=made.prices.p50.cost,
        low=made.prices.p10,
        likely=made.prices.p50,
        high=made.prices.p90,
        curve=(),
        operations=operations(made.cases, made.chosen, given),
        questions=(),
        warnings=(),
    )


def _stock_warnings(made: Estimate) -> list[str]:
    return [
        f"{line.name}: {line.short:g} {line.unit} short for this job;"
        f" buy {line.buy:g} {line.unit}, {line.lead_days} days to arrive"
        for line in made.materials
        if line.short > 0
    ]


def _from_prior(inspection: Inspection, given: Setting, options: Options) -> Estimate:
    expected = vehicle_expectation(given.catalogue, inspection.vehicle)
    grades = {grade: grade_plans(grade, expected, given) for grade, _ in expected.grades}
    picked = {grade: plans.for_goal(inspection.goal) for grade, plans in grades.items()}
    plans = {grade: plan for grade, (plan, _) in picked.items()}
    middle = expected.median_grade()
    shown, status = plans[middle], picked[middle][1]
    prices = _mixture_price(plans, expected, shown, given)
    cleared = sum(chance * plans[grade].cleared for grade, chance in expected.grades)
    made = _Parts(grades[middle].cases, shown.chosen, shown.job, prices, cleared)
    base = _build("prior", status, inspection, given, options, made)
    warnings = (
        *status_warning(status, inspection.goal, cleared),
        *_prior_warnings(expected, plans, grades[middle], given),
        *_stock_warnings(base),
    )
    vehicle = inspection.vehicle
    curve = _prior_curve(grades, expected, shown, prices.p50.shown)
    return replace(
        base,
        curve=curve,
        why=why_not(curve, inspection.goal, given.terms.currency),
        questions=rank_questions(plans, vehicle.age_months, vehicle.answers(), given),
        warnings=warnings,
    )


def _mixture_price(
    plans: dict[str, UniformPlan], expected: Expectation, shown: UniformPlan, given: Setting
) -> JobPrice:
    """Hours and prices over all grades; materials are those of the plan shown.

    The likely price keeps its parts adding up by being costed at the median hours;
    the low and high ones are costed at the hours that give the mixture's quantiles.
    """
    minutes = _mixture_minutes(plans, expected)
    cases = price_cases(plans, expected.grades, given)
    costs = [mixture_quantile(cases, quantile) for quantile in _QUANTILES]
    own = price_cases({"shown": shown}, (("shown", 1.0),), given)[0]
    labour = [max((cost - own.base) / own.rate, 0.0) for cost in costs]
    stuff = total_cost(shown.job.quantities, given.unit_costs, given.terms.minor_units)
    labour[1] = minutes.p50
    made = [
        price(direct_cost(spent, shown.job.bay_minutes(spent), stuff, given.terms), given.terms)
        for spent in (min(labour[0], labour[1]), labour[1], max(labour[1], labour[2]))
    ]
    return JobPrice(minutes, made[0], made[1], made[2])


def _mixture_minutes(plans: dict[str, UniformPlan], expected: Expectation) -> Range:
    cases = hour_cases(plans, expected.grades)
    if not cases:
        return Range(0.0, 0.0, 0.0)
    low, middle, high = (mixture_quantile(cases, quantile) for quantile in _QUANTILES)
    return Range(low, middle, high)


def _prior_warnings(
    expected: Expectation, plans: dict[str, UniformPlan], middle: GradePlans, given: Setting
) -> list[str]:
    names = {row.code: row.name for row in given.catalogue.prior_grades}
    levels = {effect.code: effect.name.lower() for effect in given.effects}
    odds = "; ".join(
        f"{names[grade]} {chance:.0%} ({levels[plans[grade].level]})"
        for grade, chance in expected.grades
    )
    warnings = [f"Not inspected: an estimate from age and habits. {odds}"]
    if middle.spots_expected:
        warnings.append(
            f"About {middle.spots_expected:.1f} deep scratches and etch marks are allowed for"
        )
    return warnings


def _prior_curve(
    grades: dict[str, GradePlans], expected: Expectation, shown: UniformPlan, likely: Decimal
) -> tuple[CurvePoint, ...]:
    """One step a level: the price in the median grade, cleared averaged over grades.

    The plan shown stands at the likely price over all grades.
    """
    middle = grades[expected.median_grade()]
    points: list[CurvePoint] = []
    for index, plan in enumerate(middle.plans):
        cleared = sum(
            chance * grades[grade].plans[index].cleared for grade, chance in expected.grades
        )
        amount = likely if plan is shown else plan.priced.shown
        levels = tuple(
            (case.finding.panel, way.level.code)
            for case, way in zip(middle.cases, plan.chosen, strict=True)
        )
        point = CurvePoint(cleared, amount, levels, plan is shown)
        beaten = points and (cleared <= points[-1].cleared or amount <= points[-1].price)
        if not beaten:
            points.append(point)
        elif point.chosen:
            points = [p for p in points if p.cleared < cleared and p.price < amount] + [point]
    return tuple(points)
