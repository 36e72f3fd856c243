"""Projects with minimum and maximum time lags and cumulative resources, on the model layer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ortools.sat.python import cp_model

from scheduling.core.cpmodel import Layer, Limits, Task, solver_for
from scheduling.core.problem import PlanStatus
from scheduling.core.projectdata import Activity, StartLag
from scheduling.core.projectwhy import (
    MinusLag,
    lacking_units,
    lag_ring,
    maximum_lags_among_resources,
)

__all__ = ["Activity", "ProjectAnswer", "StartLag", "shortest_project"]


@dataclass(frozen=True, slots=True)
class ProjectAnswer:
    """Shortest makespan found, a proven bound, and the starts; status as for a plan.

    ``reasons`` say what cannot hold where it is impossible.
    """

    status: PlanStatus
    makespan: int | None = None
    bound: int | None = None
    starts: tuple[int, ...] = ()
    reasons: tuple[str, ...] = ()


def shortest_project(
    activities: Sequence[Activity],
    lags: Sequence[StartLag],
    capacities: Sequence[int],
    limits: Limits,
) -> ProjectAnswer:
    """Return the shortest schedule of a project.

    Parameters
    ----------
    activities : sequence of Activity
        Numbered from 0.
    lags : sequence of StartLag
        Between starts.
    capacities : sequence of int
        Units of each resource.
    limits : Limits
        Of the solve.
    """
    reasons = lacking_units(activities, capacities) or lag_ring(len(activities), lags)
    if reasons:
        return ProjectAnswer(PlanStatus.IMPOSSIBLE, reasons=tuple(reasons))
    layer, tasks = _model(activities, lags, capacities)
    last = layer.number(cp_model.Domain(0, _horizon(activities, lags)), "makespan")
    for task in tasks:
        layer.model.add(last >= task.end)
    layer.model.minimize(last)
    limits = replace(limits, has_hint=False, latest_end=True)
    solver = solver_for(limits)
    status = solver.solve(layer.model)
    if status == cp_model.INFEASIBLE:

        def build(optional: list[MinusLag]) -> cp_model.CpModel:
            return _model(activities, lags, capacities, optional)[0].model

        why = maximum_lags_among_resources(build, solver_for(replace(limits, workers=1)))
        return ProjectAnswer(PlanStatus.IMPOSSIBLE, reasons=tuple(why))
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return ProjectAnswer(PlanStatus.NONE_FOUND)
    return ProjectAnswer(
        PlanStatus.OPTIMAL if status == cp_model.OPTIMAL else PlanStatus.FEASIBLE,
        round(solver.objective_value),
        round(solver.best_objective_bound),
        tuple(solver.value(task.start) for task in tasks),
    )


def _horizon(activities: Sequence[Activity], lags: Sequence[StartLag]) -> int:
    """Return an end that a shortest schedule does not need to pass."""
    work = sum(activity.duration for activity in activities)
    return work + sum(max(0, lag.least) for lag in lags)


def _model(
    activities: Sequence[Activity],
    lags: Sequence[StartLag],
    capacities: Sequence[int],
    optional: list[MinusLag] | None = None,
) -> tuple[Layer, list[Task]]:
    """Return the model without objective; maximum lags with literals where a list is given."""
    layer = Layer()
    last = _horizon(activities, lags)
    anytime = cp_model.Domain(0, last)
    tasks = [
        layer.task(f"{number}", anytime, [activity.duration], last)
        for number, activity in enumerate(activities)
    ]
    for lag in lags:
        before, after = tasks[lag.before].start, tasks[lag.after].start
        if optional is not None and lag.least < 0:
            literal = layer.literal("maximum lag")
            layer.model.add(after >= before + lag.least).only_enforce_if(literal)
            optional.append((lag, literal))
        else:
            layer.lag(before, after, lag.least)
    for task, activity in zip(tasks, activities, strict=True):
        for resource, units in enumerate(activity.needs):
            if units and activity.duration:
                layer.holds_some(str(resource), (task.start, task.size, task.end), units)
    layer.close({str(number): units for number, units in enumerate(capacities)})
    return layer, tasks
