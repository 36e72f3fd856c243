"""What no plan can beat: each job alone in an empty shop, added up."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise

from ortools.sat.python import cp_model

from scheduling.core.cpmodel import Limits, solver_for
from scheduling.core.explain import missing, why_not
from scheduling.core.fit import Fit, Reason
from scheduling.core.freeindex import FreeIndex
from scheduling.core.insertion import Draft
from scheduling.core.problem import Job, Week
from scheduling.core.weekmodel import WeekModel


@dataclass(frozen=True, slots=True)
class Alone:
    """Bounds of each job alone, the fits that were found, and why a job is impossible."""

    costs: Mapping[str, float]
    fits: Mapping[str, Fit]
    reasons: tuple[Reason, ...]
    makespan_points: float = 0.0

    @property
    def total(self) -> float:
        """A proven lower bound of the objective of the week."""
        return sum(self.costs.values()) + self.makespan_points


def alone(
    week: Week,
    empty: FreeIndex,
    *,
    seed: int = 1,
    hurry: Callable[[], bool] = lambda: False,
) -> Alone:
    """Return a proven bound for each job as if it had the shop to itself.

    The earliest end is exact; where it takes more moves than are sure to be needed, the best
    trade between time and moves is proven by a small model, unless ``hurry`` says that there is
    no time for that.
    """
    costs: dict[str, float] = {}
    fits: dict[str, Fit] = {}
    reasons: list[Reason] = []
    draft = Draft(week)
    for job in week.jobs:
        fit = draft.insert(job.id)
        if not fit.found:
            chain = draft.chains[job.id]
            reasons += missing(chain, empty.resources) or why_not(chain, empty, job.release)
            continue
        fits[job.id] = fit
        spare = fit.moves - fewest_moves(week, job)
        cost = draft.cost_of(job, fit)
        if spare and week.objective.move:
            cost -= spare * week.objective.move
            if not week.objective.makespan and not hurry():
                cost = max(cost, _proven(draft, job, empty, seed))
        costs[job.id] = cost
        draft.take_out(job.id)
    latest = max((fit.end for fit in fits.values()), default=0)
    makespan = week.objective.makespan * latest / week.objective.per
    return Alone(costs, fits, tuple(reasons), makespan)


def _proven(draft: Draft, job: Job, empty: FreeIndex, seed: int) -> float:
    model = WeekModel(draft, [job.id], empty)
    solver = solver_for(Limits(seconds=2.0, seed=seed, deterministic=2.0))
    status = solver.solve(model.layer.model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return 0.0
    return model.in_points(solver.best_objective_bound)


def fewest_moves(week: Week, job: Job) -> int:
    """Return how many moves a job needs at least: where no spot can do both steps."""
    groups: list[set[str]] = []
    for op in job.ops:
        able = {spot.id for spot in week.spots if op.spot_cap in spot.caps}
        if op.same_spot and groups:
            groups[-1] &= able
        else:
            groups.append(able)
    return sum(not before & after for before, after in pairwise(groups))
