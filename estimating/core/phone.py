"""The phone quote: one level for the whole vehicle, over the grades it may be in.

Before an inspection there is no ground for treating one panel unlike another, so
a plan here is one level, held back only where a panel cannot take it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from estimating.core.catalogue import Catalogue
from estimating.core.catalogue_rows import PanelKind
from estimating.core.condition import Condition
from estimating.core.costing import Priced
from estimating.core.film import PanelFilm
from estimating.core.hours import Part
from estimating.core.inspection import Defect, Goal, PanelFinding
from estimating.core.job import Extra, Job, assemble, likely_price
from estimating.core.materials import Quantities, stage_quantities
from estimating.core.prior import Expectation, Shifted, expectation, mixture_quantile
from estimating.core.setting import Setting
from estimating.core.spotwork import profile_of, spot_work
from estimating.core.work import Candidate, PanelCase, panel_case

_TINY = 1e-9


@dataclass(frozen=True)
class UniformPlan:
    """One level on every panel of a vehicle in one grade."""

    level: str
    chosen: tuple[Candidate, ...]
    job: Job
    cleared: float
    priced: Priced


@dataclass(frozen=True)
class GradePlans:
    """The vehicle in one grade: its panels and the plan for each level, mildest first."""

    grade: str
    cases: tuple[PanelCase, ...]
    plans: tuple[UniformPlan, ...]
    spots_expected: float

    def for_goal(self, goal: Goal) -> tuple[UniformPlan, str]:
        """The plan for a goal, and whether the goal is met."""
        if goal.cleared is not None:
            for plan in self.plans:
                if plan.cleared >= goal.cleared - _TINY:
                    return plan, "reached"
            return max(self.plans, key=lambda plan: plan.cleared), "film_limit"
        if goal.price_cap is not None:
            within = [plan for plan in self.plans if plan.priced.shown <= goal.price_cap]
            if not within:
                return self.plans[0], "cap_too_low"
            return max(within, key=lambda plan: plan.cleared), "reached"
        return max(self.plans, key=lambda plan: plan.cleared), "reached"


def panel_set(catalogue: Catalogue, body: str) -> list[PanelKind]:
    """The panels of a body in the order of its table."""
    kinds = {row.code: row for row in catalogue.panel_kinds}
    return [kinds[row.panel] for row in catalogue.body_panels if row.body == body]


def grade_plans(grade: str, expected: Expectation, given: Setting) -> GradePlans:
    """All uniform plans for a vehicle in one grade."""
    film = expected.film()
    cases = tuple(_case(kind, grade, expected, given)
                  for kind in panel_set(given.catalogue, given.body.code))  # fmt: skip
    area_m2 = sum(case.area_m2 for case in cases if case.finding.substrate != "composite")
    plans = []
    for effect in given.effects:
        chosen = tuple(_held_back(case, effect.code, given) for case in cases)
        extra, weight, gain = _expected_spots(grade, effect.code, area_m2, film, given)
        job = assemble(cases, chosen, given, extra)
        whole = weight + sum(case.weight for case in cases)
        cleared = (gain + sum(way.gain for way in chosen)) / whole if whole else 1.0
        plans.append(UniformPlan(effect.code, chosen, job, cleared, likely_price(job, given)))
    expected_count = sum(
        row.count_per_m2 * area_m2 for row in given.catalogue.prior_defects if row.grade == grade
    )
    return GradePlans(grade, cases, tuple(plans), expected_count)


def _case(kind: PanelKind, grade: str, expected: Expectation, given: Setting) -> PanelCase:
    surface = "trim" if kind.group == "trim" else "paint"
    defects = tuple(
        Defect(row.kind, row.severity, extent=row.extent)
        for row in given.catalogue.prior_defects
        if row.grade == grade and row.surface == surface and row.extent > 0
    )
    finding = PanelFinding(kind.code, kind.substrate, (), defects)
    if kind.substrate == "composite":
        return panel_case(finding, None, Condition("unreadable", _COMPOSITE), given)
    return panel_case(finding, expected.film(), Condition("original", _NOT_SEEN), given)


_COMPOSITE = "composite panel: the gauge reads no film here"
_NOT_SEEN = "not inspected yet: taken as factory paint of its age"


def _held_back(case: PanelCase, level: str, given: Setting) -> Candidate:
    """The panel's way at a level, or at the strongest it may have below that."""
    allowed = {way.level.code: way for way in case.candidates if way.with_spot_work}
    best = case.candidates[0]
    for effect in given.effects:
        best = allowed.get(effect.code, best)
        if effect.code == level:
            break
    return best


def _expected_spots(
    grade: str, level: str, area_m2: float, film: PanelFilm, given: Setting
) -> tuple[Extra, float, float]:
    """Spot work expected on the vehicle: time with the spread of a Poisson count."""
    parts: list[Part] = []
    used: Quantities = {}
    weight = gain = 0.0
    effect = next(row for row in given.effects if row.code == level)
    for row in given.catalogue.prior_defects:
        expected_count = row.count_per_m2 * area_m2
        if row.grade != grade or not expected_count:
            continue
        one = Defect(row.kind, row.severity, count=1)
        each = profile_of(given.catalogue, row.kind, row.severity).weight
        weight += each * expected_count
        if not effect.passes:
            continue  # a phone quote does not sell spot work without any polishing
        work = spot_work(one, film, "original", effect, given)
        gain += each * expected_count * (work.cleared if work else 1.0)
        if work and work.row:
            minutes = work.row.minutes * given.time_factor * math.exp(work.row.sigma**2 / 2)
            variation = (1 + math.expm1(work.row.sigma**2)) / expected_count
            parts.append(Part(minutes * expected_count, math.sqrt(math.log1p(variation))))
            for code, amount in stage_quantities(
                given.catalogue, f"spot_{work.method}", count=1
            ).items():
                used[code] = used.get(code, 0.0) + amount * expected_count
    return Extra(tuple(parts), used), weight, gain


def price_cases(
    plans: Mapping[str, UniformPlan], odds: Sequence[tuple[str, float]], given: Setting
) -> list[Shifted]:
    """Direct cost of each grade's plan as `base + rate * labour minutes`, with its odds."""
    terms = given.terms
    labour = float(terms.labour_rate * (1 + terms.overhead_rate)) / 60.0
    bay = float(terms.bay_rate) / 60.0
    cases = []
    for grade, chance in odds:
        job = plans[grade].job
        stuff = sum(
            amount * float(given.shelf[code].unit_cost) for code, amount in job.quantities.items()
        )
        rate = labour + bay * job.bay_ratio
        base = stuff + bay * job.waiting_minutes
        cases.append(Shifted(chance, base, rate, job.spread.mu, job.spread.sigma))
    return cases


def hour_cases(
    plans: Mapping[str, UniformPlan], odds: Sequence[tuple[str, float]]
) -> list[Shifted]:
    """Labour minutes of each grade's plan with its odds."""
    return [
        Shifted(chance, 0.0, 1.0, plans[grade].job.spread.mu, plans[grade].job.spread.sigma)
        for grade, chance in odds
        if plans[grade].job.spread.mean_minutes > 0
    ]


@dataclass(frozen=True)
class Question:
    """A question not asked yet, and how much its answer narrows the cost range.

    `narrows` is the expected share by which P10 to P90 shrinks; negative where the
    answer is expected to widen it.
    """

    code: str
    text: str
    answers: tuple[tuple[str, str], ...]
    narrows: float


def rank_questions(
    plans: Mapping[str, UniformPlan],
    age_months: int,
    answers: Mapping[str, str],
    given: Setting,
) -> tuple[Question, ...]:
    """Open questions, the one that narrows the range most first."""
    catalogue = given.catalogue
    now = _width(plans, expectation(catalogue, age_months, answers), given)
    ranked = []
    for row in sorted(catalogue.prior_questions, key=lambda question: question.order):
        if row.code in answers:
            continue
        options = [answer for answer in catalogue.prior_answers if answer.question == row.code]
        then = 0.0
        for answer in options:
            known = {**answers, row.code: answer.code}
            then += answer.share * _width(plans, expectation(catalogue, age_months, known), given)
        narrows = 1 - then / now if now else 0.0
        ranked.append(
            Question(row.code, row.text, tuple((a.code, a.name) for a in options), narrows)
        )
    return tuple(sorted(ranked, key=lambda question: -question.narrows))


def _width(plans: Mapping[str, UniformPlan], expected: Expectation, given: Setting) -> float:
    cases = price_cases(plans, expected.grades, given)
    return mixture_quantile(cases, 0.9) - mixture_quantile(cases, 0.1)
