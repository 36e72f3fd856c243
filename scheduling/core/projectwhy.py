"""Say why a project cannot be done: units, a ring of lags, or maximum lags among resources."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ortools.sat.python import cp_model

from scheduling.core.projectdata import Activity, StartLag

MinusLag = tuple[StartLag, cp_model.IntVar]


def lacking_units(activities: Sequence[Activity], capacities: Sequence[int]) -> list[str]:
    """Return which activities need more of a resource than there is."""
    return [
        f"activity {number} needs {units} of resource {resource}, there are {there}"
        for number, activity in enumerate(activities)
        if activity.duration
        for resource, (units, there) in enumerate(zip(activity.needs, capacities, strict=True))
        if units > there
    ]


def lag_ring(count: int, lags: Sequence[StartLag]) -> list[str]:
    """Return a ring of lags that no starts can keep, whatever the resources, if there is one.

    Starts are pushed later until nothing moves (Bellman and Ford); what still moves after as many
    turns as there are activities runs in a ring whose lags add up to more than nothing.
    """
    starts = [0] * count
    pushed_by: list[StartLag | None] = [None] * count
    moved: int | None = None
    for _ in range(count):
        moved = None
        for lag in lags:
            if starts[lag.before] + lag.least > starts[lag.after]:
                starts[lag.after] = starts[lag.before] + lag.least
                pushed_by[lag.after] = lag
                moved = lag.after
        if moved is None:
            return []
    return [] if moved is None else [_told(_ring(moved, count, pushed_by))]


def _ring(moved: int, count: int, pushed_by: Sequence[StartLag | None]) -> list[StartLag]:
    at = moved
    for _ in range(count):  # back into the ring itself
        lag = pushed_by[at]
        at = at if lag is None else lag.before
    ring: list[StartLag] = []
    while not ring or at != ring[0].after:
        lag = pushed_by[at]
        if lag is None:
            break
        ring.append(lag)
        at = lag.before
    return ring[::-1]


def _told(ring: Sequence[StartLag]) -> str:
    texts = ", ".join(lag_text(lag) for lag in ring)
    over = sum(lag.least for lag in ring)
    return f"these lags cannot all hold, together they ask for {over} too much: {texts}"


def lag_text(lag: StartLag) -> str:
    """Return a lag in words."""
    if lag.least < 0:
        return f"{lag.before} at most {-lag.least} after {lag.after}"
    return f"{lag.after} at least {lag.least} after {lag.before}"


def maximum_lags_among_resources(
    build: Callable[[list[MinusLag]], cp_model.CpModel], solver: cp_model.CpSolver
) -> list[str]:
    """Return which maximum lags cannot be kept together with the units there are.

    Parameters
    ----------
    build : callable
        Builds the model without objective, each maximum lag only where its literal is true, and
        appends the pairs to the list it is given.
    solver : CpSolver
        Used once. Where its time runs out, all maximum lags are under suspicion.
    """
    optional: list[MinusLag] = []
    model = build(optional)
    model.add_assumptions([literal for _, literal in optional])
    solver.solve(model)
    to_blame = set(solver.sufficient_assumptions_for_infeasibility())
    blamed = [lag for lag, literal in optional if literal.index in to_blame]
    blamed = blamed or [lag for lag, _ in optional]
    texts = ", ".join(lag_text(lag) for lag in blamed)
    return [f"with the units there are these maximum lags cannot all hold: {texts}"]
