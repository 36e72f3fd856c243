"""Projects with minimum and maximum time lags and cumulative resources, on the model layer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from scheduling.core.cpmodel import Layer, Limits, solver_for
from scheduling.core.problem import PlanStatus


@dataclass(frozen=True, slots=True)
class Activity:
    """An activity with its duration and the units of each resource it needs meanwhile."""

    duration: int
    needs: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class StartLag:
    """``after`` starts at least ``least`` after ``before`` starts; negative is a maximum lag."""

    before: int
    after: int
    least: int


@dataclass(frozen=True, slots=True)
class ProjectAnswer:
    """Shortest makespan found, a proven bound, and the starts; status as for a plan."""

    status: PlanStatus
    makespan: int | None = None
    bound: int | None = None
    starts: tuple[int, ...] = ()


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
    layer = Layer()
    last = sum(activity.duration for activity in activities)
    last += sum(max(0, lag.least) for lag in lags)
    anytime = cp_model.Domain(0, last)
    tasks = [
        layer.task(f"{number}", anytime, [activity.duration], last)
        for number, activity in enumerate(activities)
    ]
    for lag in lags:
        layer.lag(tasks[lag.before].start, tasks[lag.after].start, lag.least)
    for task, activity in zip(tasks, activities, strict=True):
        for resource, units in enumerate(activity.needs):
            if units and activity.duration:
                layer.holds_some(str(resource), (task.start, task.size, task.end), units)
    makespan = layer.number(anytime, "makespan")
    for task in tasks:
        layer.model.add(makespan >= task.end)
    layer.close({str(number): units for number, units in enumerate(capacities)})
    layer.model.minimize(makespan)
    solver = solver_for(limits)
    status = solver.solve(layer.model)
    if status == cp_model.INFEASIBLE:
        return ProjectAnswer(PlanStatus.IMPOSSIBLE)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return ProjectAnswer(PlanStatus.NONE_FOUND)
    return ProjectAnswer(
        PlanStatus.OPTIMAL if status == cp_model.OPTIMAL else PlanStatus.FEASIBLE,
        round(solver.objective_value),
        round(solver.best_objective_bound),
        tuple(solver.value(task.start) for task in tasks),
    )
