"""From ways to treat panels to the plan for a goal, and the finish curve."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimating.core.inspection import Goal
from estimating.core.job import Job, completed, likely_shown
from estimating.core.plan import Choice, Frontier, Item
from estimating.core.setting import Setting
from estimating.core.tally import Tally
from estimating.core.tidy import without_patchwork
from estimating.core.work import Candidate, PanelCase

# Gains are counted in whole steps of the vehicle's total. The work of the exact
# search grows with panels times steps, so few panels are counted more finely.
_LEAST_STEPS = 4_000
_STEP_BUDGET = 16_000
_MOST_CURVE_POINTS = 60
_BESIDE = 2
_TINY = 1e-9


@dataclass(frozen=True)
class Planned:
    """A plan on the finish curve: its candidate for each panel, cleared share, price told."""

    marks: tuple[int, ...]
    cleared: float
    price: Decimal
    expected_cost: int


@dataclass(frozen=True)
class Selection:
    """The chosen plan, the curve it lies on, and how the goal was met.

    `status` is `reached`, `film_limit` (the film allows no more), `cap_too_low`
    (even the least job is over the cap).
    """

    chosen: Planned
    curve: tuple[Planned, ...]
    status: str


class Chooser:
    """The exact choice over the panels of one vehicle.

    `groups` are the items chosen from, one group a panel.
    """

    def __init__(self, cases: Sequence[PanelCase], given: Setting, drop_spot_work: bool) -> None:
        self._cases = cases
        self._given = given
        self._weight = sum(case.weight for case in cases)
        self._steps = max(_LEAST_STEPS, _STEP_BUDGET // max(len(cases), 1))
        self._tally = Tally(cases)
        self._gains = [[way.gain for way in case.candidates] for case in cases]
        self._levels = [
            [(case.finding.panel, way.level.code) for way in case.candidates] for case in cases
        ]
        self.groups = [self._items(case, drop_spot_work) for case in cases]
        self._frontier = Frontier(self.groups)

    def _items(self, case: PanelCase, drop_spot_work: bool) -> list[Item]:
        return [
            Item(way.cost, self._to_steps(way.gain), mark)
            for mark, way in enumerate(case.candidates)
            if drop_spot_work or way.with_spot_work
        ]

    def _to_steps(self, gain: float) -> int:
        return round(self._steps * gain / self._weight) if self._weight else 0

    def levels(self, marks: Sequence[int]) -> tuple[tuple[str, str], ...]:
        """Each panel with its level in a plan."""
        return tuple([named[mark] for named, mark in zip(self._levels, marks, strict=True)])

    def ways(self, marks: Sequence[int]) -> list[Candidate]:
        """The candidates behind the marks of a plan."""
        return [case.candidates[mark] for case, mark in zip(self._cases, marks, strict=True)]

    def cleared(self, marks: Sequence[int]) -> float:
        """Share of the vehicle's defects that a plan clears; 1 where there are none."""
        if not self._weight:
            return 1.0
        gain = sum(gains[mark] for gains, mark in zip(self._gains, marks, strict=True))
        return min(1.0, gain / self._weight)

    def job(self, marks: Sequence[int]) -> Job:
        """The whole job of a plan."""
        sums, used = self._tally.of(marks)
        return completed(self._cases, self.ways(marks), sums, used, self._given)

    def _planned(self, marks: tuple[int, ...], cost: int) -> Planned:
        price = likely_shown(self.job(marks), self._given)
        return Planned(marks, self.cleared(marks), price, cost)

    def _of_choice(self, choice: Choice) -> Planned:
        return self._planned(choice.marks, choice.cost)

    def nothing(self) -> Planned:
        """No correction and no spot work anywhere; what else is ordered stays."""
        marks = tuple(
            next(mark for mark, way in enumerate(case.candidates) if not way.parts)
            for case in self._cases
        )
        return self._planned(marks, 0)

    def curve(self) -> list[Planned]:
        """Efficient plans that a rounded price can tell apart, cheapest first.

        Where there are more than a picture can show, one is taken of several steps.
        """
        step = self._step_cost()
        last_of = self._last_by(step)
        if len(last_of) > _MOST_CURVE_POINTS:
            steps = self._frontier.points[-1][0] // step + 1
            last_of = self._last_by(step * -(-steps // _MOST_CURVE_POINTS))
        return [self.nothing(), *map(self._of_point, last_of.values())]

    def beside(self, plan: Planned) -> list[Planned]:
        """The next plans to either side that a rounded price can tell apart, where there are.

        Two a side: one of them may turn out to be told at the same price.
        """
        width = self._step_cost()
        last_of = self._last_by(width)
        buckets = sorted(last_of)
        place = bisect_left(buckets, plan.expected_cost // width)
        near = buckets[max(place - _BESIDE, 0) : place + _BESIDE + 1]
        return [self._of_point(last_of[bucket]) for bucket in near]

    def _last_by(self, width: int) -> dict[int, tuple[int, int]]:
        """The last point of the frontier in each step of cost."""
        return {point[0] // width: point for point in self._frontier.points}

    def _of_point(self, point: tuple[int, int]) -> Planned:
        return self._of_choice(self._frontier.choice(point))

    def _step_cost(self) -> int:
        """What the cost may rise by while the price rises by one step of rounding."""
        terms = self._given.terms
        kept = 1 - terms.target_margin - terms.card_fee_share * (1 + terms.tax_rate)
        return max(int(terms.rounding_step * kept * 10**terms.minor_units), 1)

    def for_cleared(self, target: float) -> tuple[Planned, str]:
        """The cheapest plan that reaches a share, or the best the film allows."""
        slack = len(self._cases)
        least = round(target * self._steps) - slack
        for point in self._frontier.points:
            if point[1] < least:
                continue
            choice = self._frontier.choice(point)
            if self.cleared(choice.marks) >= target - _TINY:
                return self._of_choice(choice), "reached"
        return self.best(), "film_limit"

    def best(self) -> Planned:
        """The most that the film allows, at the least cost."""
        return self._of_choice(self._frontier.choice(self._frontier.points[-1]))

    def tidied(self, plan: Planned) -> Planned:
        """The same cost and share, with levels changing between as few neighbours as may be."""
        marks = without_patchwork(self._cases, plan.marks, self._given)
        return plan if marks == plan.marks else self._planned(marks, plan.expected_cost)

    def for_cap(self, cap: Decimal, curve: Sequence[Planned]) -> tuple[Planned, str]:
        """The plan that clears most with a likely price within a cap."""
        within = [plan for plan in curve if plan.price <= cap]
        if not within:
            return curve[0], "cap_too_low"
        best = max(within, key=lambda plan: plan.cleared)
        dearer = [plan.expected_cost for plan in curve if plan.cleared > best.cleared]
        most = min(dearer, default=best.expected_cost)
        for point in self._frontier.points:
            if best.expected_cost < point[0] < most:
                between = self._of_choice(self._frontier.choice(point))
                if between.price <= cap and between.cleared > best.cleared:
                    best = between
        return best, "reached"


def select(cases: Sequence[PanelCase], goal: Goal, given: Setting) -> tuple[Selection, Chooser]:
    """Choose the plan for a goal.

    Spot work that the film allows is part of every plan, as a deep scratch needs it
    whatever the level; only a price cap may leave it out, and says so.
    """
    chooser = Chooser(cases, given, drop_spot_work=goal.price_cap is not None)
    curve = chooser.curve()
    if goal.cleared is not None:
        chosen, status = chooser.for_cleared(goal.cleared)
    elif goal.price_cap is not None:
        chosen, status = chooser.for_cap(goal.price_cap, curve)
    else:
        chosen, status = chooser.best(), "reached"
    chosen = chooser.tidied(chosen)
    plans = {plan.marks: plan for plan in (*curve, *chooser.beside(chosen))}
    return Selection(chosen, tidy_curve(list(plans.values()), chosen), status), chooser


def tidy_curve(curve: Sequence[Planned], chosen: Planned) -> tuple[Planned, ...]:
    """Order plans by price and keep those that nothing cheaper beats, and the chosen."""
    plans = [plan for plan in curve if plan.marks != chosen.marks]
    plans.append(chosen)
    plans.sort(key=lambda plan: (plan.price, -plan.cleared, plan is not chosen))
    kept: list[Planned] = []
    for plan in plans:
        if not kept or plan.cleared > kept[-1].cleared + _TINY:
            kept.append(plan)
        elif plan is chosen:
            # Beaten only by the rounding of prices or of gains: the one shown is
            # the one that was chosen.
            while kept and kept[-1].price == plan.price:
                kept.pop()
            kept.append(plan)
    return tuple(kept)
