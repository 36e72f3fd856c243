"""A plan in the making that can be changed thousands of times a second.

It is what a :class:`~scheduling.core.insertion.Draft` is, on a board instead of an index of fits,
and comes from one and goes back to one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from scheduling.core.board import Board, Placed, fit_of, index_of, placed_of
from scheduling.core.changes import changed
from scheduling.core.earliest import earliest_fit
from scheduling.core.fit import Fit
from scheduling.core.insertion import Draft, job_chain
from scheduling.core.placer import Placer
from scheduling.core.problem import Job
from scheduling.core.timetable import Timetable


@dataclass(frozen=True, slots=True)
class Standing:
    """How good a plan is: jobs without a place count before everything else."""

    unplaced: int
    objective: float

    def beats(self, other: Standing, slack: float = 0.0) -> bool:
        """Return whether it is better, or worse by no more than ``slack`` points."""
        if self.unplaced != other.unplaced:
            return self.unplaced < other.unplaced
        return self.objective < other.objective + slack - 1e-9


@dataclass(frozen=True, slots=True)
class Saved:
    """Everything needed to come back to a sketch as it was."""

    cells: list[int]
    placed: dict[str, Placed]
    total: float


class Sketch:
    """Jobs on a board with their costs.

    Parameters
    ----------
    timetable : Timetable
        The week; the sketch starts empty.
    """

    def __init__(self, timetable: Timetable) -> None:
        self.timetable, self.week = timetable, timetable.week
        self.board = Board(timetable)
        self.placer = Placer(timetable, self.board)
        self.placed: dict[str, Placed] = {}
        self.total = 0.0
        self._clear = list(self.board.cells)

    @property
    def standing(self) -> Standing:
        """How good it is."""
        goal = self.week.objective
        objective = self.total
        if goal.makespan:
            latest = max((one.end for one in self.placed.values()), default=0)
            objective += goal.makespan * latest * self.timetable.grid / goal.per
        return Standing(len(self.week.jobs) - len(self.placed), objective)

    def insert(self, job_id: str, budget: float | None = None) -> bool:
        """Place a job where it is quickly seen to end early; return whether there was room.

        Parameters
        ----------
        budget : float, optional
            Points the job may cost; without a place within them it stays out.
        """
        route = self.timetable.routes[job_id]
        latest = None if budget is None else self.latest_end(route.job, budget)
        found = self.placer.place(route, latest)
        if found is not None:
            found = self._with_change(job_id, found)
        if job_id in self.timetable.preferred:
            kept = self.placer.place(self.timetable.preferred[job_id])
            if kept is not None:
                kept = self._with_change(job_id, kept)
                if found is None or kept.cost <= found.cost:
                    found = kept
        if found is None or (budget is not None and found.cost > budget + 1e-9):
            return False
        self.put(job_id, found)
        return True

    def insert_exactly(self, job_id: str) -> bool:
        """Place a job at its earliest end, proven; slower, and finds room where there is any."""
        job = self._job(job_id)
        index = index_of(self.timetable, list(self.placed.values()))
        fit = earliest_fit(job_chain(job, self.week.frozen), index, not_before=job.release)
        if fit.found:
            self.put_fit(job_id, fit)
        return fit.found

    def insert_all(self, order: Iterable[str]) -> None:
        """Place jobs in an order; where a quick look finds no room, look exactly."""
        for job_id in order:
            if job_id not in self.placed and not self.insert(job_id):
                self.insert_exactly(job_id)

    def keep_preferred(self) -> None:
        """Place every job at its preferred placement that is still possible."""
        for job_id, route in self.timetable.preferred.items():
            found = self.placer.place(route)
            if found is not None:
                self.put(job_id, self._with_change(job_id, found))

    def put(self, job_id: str, placed: Placed) -> None:
        """Put a job at a place that is free."""
        self.board.take(placed.taken)
        self.placed[job_id] = placed
        self.total += placed.cost

    def put_fit(self, job_id: str, fit: Fit) -> None:
        """Put a job where a fit says."""
        cost = self.timetable.points(self._job(job_id), fit.end // self.timetable.grid, fit.moves)
        if self.week.objective.change and changed(self._job(job_id), fit, self.week.preferred):
            cost += self.week.objective.change
        self.put(job_id, placed_of(self.timetable, fit, cost))

    def take_out(self, job_id: str) -> Placed:
        """Take a job out again; return what it had."""
        placed = self.placed.pop(job_id)
        self.board.give_back(placed.taken)
        self.total -= placed.cost
        return placed

    def save(self) -> Saved:
        """Return the sketch as it is now."""
        return Saved(list(self.board.cells), dict(self.placed), self.total)

    def restore(self, saved: Saved) -> None:
        """Come back to a saved sketch."""
        self.board.cells[:] = saved.cells
        self.placed = dict(saved.placed)
        self.total = saved.total

    def clear(self) -> None:
        """Take everything out."""
        self.board.cells[:] = self._clear
        self.placed = {}
        self.total = 0.0

    def fits(self) -> dict[str, Fit]:
        """Return every placed job as a fit."""
        return {one: fit_of(self.timetable, one, placed) for one, placed in self.placed.items()}

    def read(self, fits: Iterable[tuple[str, Fit]]) -> None:
        """Take over a plan; everything else is taken out."""
        self.clear()
        for job_id, fit in fits:
            self.put_fit(job_id, fit)

    def adopt(self, fits: Mapping[str, Fit]) -> None:
        """Put jobs where fits say, others stay where they are."""
        for job_id in fits:
            if job_id in self.placed:
                self.take_out(job_id)
        for job_id, fit in fits.items():
            self.put_fit(job_id, fit)

    def draft(self) -> Draft:
        """Return it as a draft."""
        draft = Draft(self.week)
        for job_id, fit in self.fits().items():
            draft.put(job_id, fit)
        return draft

    def latest_end(self, job: Job, budget: float) -> int:
        """Return the last end, in slots, at which a job costs no more than a budget."""
        goal = self.week.objective
        minutes = budget * goal.per
        late = goal.tardiness * job.weight
        on_time = goal.flow * (job.due - job.release)
        grid, never = self.timetable.grid, self.timetable.never
        if minutes <= on_time or not late + goal.flow:
            return (
                never if not goal.flow else job.release // grid + int(minutes / goal.flow) // grid
            )
        return int(job.due + (minutes - on_time) / (late + goal.flow)) // grid

    def _with_change(self, job_id: str, placed: Placed) -> Placed:
        """Add the price of a change of what people know, if it is one."""
        job, goal = self._job(job_id), self.week.objective
        if goal.change and (job.told is not None or job_id in self.timetable.preferred):
            fit = fit_of(self.timetable, job_id, placed)
            if changed(job, fit, self.week.preferred):
                return replace(placed, cost=placed.cost + goal.change)
        return placed

    def _job(self, job_id: str) -> Job:
        return self.timetable.routes[job_id].job


def cheapest_cost(timetable: Timetable, job_id: str) -> float:
    """Return what a job costs alone (nearly the least it ever costs)."""
    alone = Sketch(timetable)
    return alone.placed[job_id].cost if alone.insert(job_id) else 0.0
