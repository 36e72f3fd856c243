"""The model layer over CP-SAT: tasks on a grid, lags, resources, and complete hints.

It knows nothing of shops. :mod:`scheduling.core.weekmodel` builds weeks on it; projects with
minimum and maximum lags are built on it just the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

Literal = cp_model.IntVar
WITHOUT_RELAXATION = ("no_lp", "quick_restart_no_lp", "objective_lb_search_no_lp")
"""The solver's searches that use no relaxation, for several workers, the best first."""


def domain_of(mask: int) -> cp_model.Domain:
    """Return the set bits of a mask as a domain."""
    intervals = []
    at = 0
    while mask:
        skip = (mask & -mask).bit_length() - 1
        mask >>= skip
        length = (~mask & (mask + 1)).bit_length() - 1
        intervals.append([at + skip, at + skip + length - 1])
        mask >>= length
        at += skip + length
    return cp_model.Domain.from_intervals(intervals)


@dataclass(frozen=True)
class Task:
    """Something that happens once; ``size`` is its elapsed time."""

    name: str
    start: cp_model.IntVar
    size: cp_model.IntVar | int
    end: cp_model.IntVar


class Layer:
    """A CP-SAT model with the handful of constraints that schedules need.

    Every variable takes its hint when it is made, if there is one: an incomplete hint is worth
    nothing to the solver.
    """

    def __init__(self) -> None:
        self.model = cp_model.CpModel()
        self._unary: dict[str, list[cp_model.IntervalVar]] = {}
        self._pools: dict[str, list[tuple[cp_model.IntervalVar, int]]] = {}
        self.unhinted = 0

    def number(
        self, domain: cp_model.Domain, name: str, hint: int | None = None
    ) -> cp_model.IntVar:
        """Return a whole-number variable."""
        variable = self.model.new_int_var_from_domain(domain, name)
        self.hint(variable, hint)
        return variable

    def literal(self, name: str, hint: bool | None = None) -> Literal:
        """Return a variable that is true or false."""
        variable = self.model.new_bool_var(name)
        self.hint(variable, None if hint is None else int(hint))
        return variable

    def hint(self, variable: cp_model.IntVar, value: int | None) -> None:
        """Give a variable its hint; count those that got none."""
        if value is None:
            self.unhinted += 1
        else:
            self.model.add_hint(variable, value)

    def task(
        self,
        name: str,
        starts: cp_model.Domain,
        sizes: Iterable[int],
        last: int,
        hint: tuple[int, int] | None = None,
    ) -> Task:
        """Return a task that starts in a domain and takes one of several elapsed times."""
        sizes = sorted(set(sizes))
        begin, end_at = hint or (None, None)
        start = self.number(starts, f"{name} start", begin)
        if len(sizes) == 1:
            end = self.number(cp_model.Domain(0, last), f"{name} end", end_at)
            self.model.add(end == start + sizes[0])
            return Task(name, start, sizes[0], end)
        size_hint = None if hint is None else hint[1] - hint[0]
        size = self.number(cp_model.Domain.from_values(sizes), f"{name} size", size_hint)
        end = self.number(cp_model.Domain(0, last), f"{name} end", end_at)
        self.model.add(end == start + size)
        return Task(name, start, size, end)

    def choose_one(self, literals: Sequence[Literal]) -> None:
        """Exactly one of the literals is true."""
        self.model.add_exactly_one(literals)

    def starts_within(self, task: Task, starts: cp_model.Domain, *conditions: Literal) -> None:
        """Let a task start in a domain where all the conditions are true."""
        bound = self.model.add_linear_expression_in_domain(task.start, starts)
        if conditions:
            bound.only_enforce_if(*conditions)

    def lag(
        self,
        before: cp_model.IntVar,
        after: cp_model.IntVar,
        least: int,
        most: int | None = None,
    ) -> None:
        """``after`` comes at least ``least`` and at most ``most`` after ``before``."""
        self.model.add(after >= before + least)
        if most is not None:
            self.model.add(after <= before + most)

    def uses_one(self, resource: str, task: Task, present: Literal | None = None) -> None:
        """Let a task take the only unit of a resource (if a literal is true)."""
        self.holds_one(resource, task.start, task.size, task.end, present)

    def holds_one(
        self,
        resource: str,
        start: cp_model.IntVar,
        size: cp_model.IntVar | int,
        end: cp_model.IntVar,
        present: Literal | None = None,
    ) -> None:
        """Take the only unit of a resource between two moments (if a literal is true)."""
        interval = self._interval(resource, start, size, end, present)
        self._unary.setdefault(resource, []).append(interval)

    def holds_some(
        self,
        pool: str,
        span: tuple[cp_model.IntVar, cp_model.IntVar | int, cp_model.IntVar],
        units: int,
        present: Literal | None = None,
    ) -> None:
        """Take units of a pool between two moments (if a literal is true)."""
        self._pools.setdefault(pool, []).append((self._interval(pool, *span, present), units))

    def taken(self, resource: str, start: int, end: int, units: int | None = None) -> None:
        """Take a resource for good: all of it, or units of a pool."""
        if end <= start:
            return
        interval = self.model.new_fixed_size_interval_var(start, end - start, resource)
        if units is None:
            self._unary.setdefault(resource, []).append(interval)
        else:
            self._pools.setdefault(resource, []).append((interval, units))

    def _interval(
        self,
        name: str,
        start: cp_model.IntVar,
        size: cp_model.IntVar | int,
        end: cp_model.IntVar,
        present: Literal | None,
    ) -> cp_model.IntervalVar:
        if present is None:
            return self.model.new_interval_var(start, size, end, name)
        return self.model.new_optional_interval_var(start, size, end, present, name)

    def close(self, capacities: Mapping[str, int]) -> None:
        """Post the resource constraints; what can never bind is left out.

        Parameters
        ----------
        capacities : mapping of str to int
            Units of each pool.
        """
        for intervals in self._unary.values():
            if len(intervals) > 1:
                self.model.add_no_overlap(intervals)
        for pool, held in self._pools.items():
            if sum(units for _, units in held) > capacities[pool]:
                intervals = [interval for interval, _ in held]
                units = [unit for _, unit in held]
                self.model.add_cumulative(intervals, units, capacities[pool])


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of one solve; ``deterministic`` time makes it repeatable with one worker.

    ``latest_end`` tells that nothing but a latest end is minimised, ``few_jobs`` that a proof of
    few jobs is wanted: a stronger relaxation halves its time, and costs nothing measurable.
    """

    seconds: float
    seed: int = 1
    workers: int = 1
    deterministic: float | None = None
    has_hint: bool = True
    for_bound: bool = False
    latest_end: bool = False
    few_jobs: bool = False


def solver_for(limits: Limits) -> cp_model.CpSolver:
    """Return a solver set up for short solves with a complete hint.

    Probing and symmetry detection are off where there is a hint: they would take longer than
    the whole solve.
    """
    solver = cp_model.CpSolver()
    parameters = solver.parameters
    parameters.max_time_in_seconds = limits.seconds
    parameters.num_workers = limits.workers
    parameters.random_seed = limits.seed
    # An interrupt is the caller's to hear; the solver would swallow it.
    parameters.catch_sigint_signal = False
    if limits.deterministic is not None:
        parameters.max_deterministic_time = limits.deterministic
    parameters.optimize_with_lb_tree_search = limits.for_bound
    if limits.latest_end:
        # A relaxation bounds a sum of ends well and a single latest end hardly at all: without
        # it the same proofs take a fraction of the time.
        parameters.linearization_level = 0
        if limits.workers > 1:
            parameters.subsolvers.extend(WITHOUT_RELAXATION)
    elif limits.few_jobs:
        parameters.linearization_level = 2
    if limits.has_hint:
        parameters.cp_model_probing_level = 0
        parameters.symmetry_level = 0
    return solver
