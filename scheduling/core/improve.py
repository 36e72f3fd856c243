"""Ruin and recreate: take some jobs out of a plan and put them back in another order.

Each step is small and valid, a worse plan is accepted only a little and ever less, and the best
one is kept. With a seed and a number of steps it is deterministic.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from scheduling.core.fit import Fit
from scheduling.core.insertion import Draft, frozen_first
from scheduling.core.problem import Job

MOST_REMOVED = 9
FIRST_SLACK = 0.03
"""Share by which a plan may be worse than the best and still be gone on from, at first."""


@dataclass(frozen=True, slots=True)
class Standing:
    """How good a draft is: jobs without a place count before everything else."""

    unplaced: int
    objective: float

    def beats(self, other: Standing, slack: float = 0.0) -> bool:
        """Return whether it is better, or worse by no more than a share ``slack``."""
        if self.unplaced != other.unplaced:
            return self.unplaced < other.unplaced
        return self.objective < other.objective * (1 + slack) - 1e-9


class RuinRecreate:
    """A search over drafts of one week.

    Parameters
    ----------
    draft : Draft
        Where to start; jobs of the week that it lacks are tried again with each step. It is
        changed.
    seed : int
        Of the random choices.
    """

    def __init__(self, draft: Draft, seed: int = 1) -> None:
        self.draft = draft
        self.rng = Random(seed)  # noqa: S311 -- a search, not a secret
        self.order = [job.id for job in draft.week.jobs]
        self.now = self._standing()
        self.best = self.now
        self.best_fits = dict(draft.placed)
        self.steps = 0

    def _standing(self) -> Standing:
        return Standing(len(self.order) - len(self.draft.placed), self.draft.objective)

    def run(self, steps: int, cooled: float = 0.0) -> bool:
        """Take so many steps; return whether the best plan got better.

        Parameters
        ----------
        steps : int
            How many.
        cooled : float
            Share of the search that is over, 0 to 1: the nearer to 1, the stricter.
        """
        improved = False
        slack = FIRST_SLACK * max(0.0, 1 - cooled)
        for _ in range(steps):
            self.steps += 1
            improved |= self._step(slack)
        return improved

    def restore_best(self) -> Draft:
        """Put the draft back to the best plan found and return it."""
        for job_id in list(self.draft.placed):
            self.draft.take_out(job_id)
        for job_id, fit in self.best_fits.items():
            self.draft.put(job_id, fit)
        self.now = self.best
        return self.draft

    def _step(self, slack: float) -> bool:
        removed = self._choose()
        unplaced = [job_id for job_id in self.order if job_id not in self.draft.placed]
        before = {job_id: self.draft.take_out(job_id) for job_id in removed}
        added: list[str] = []
        for job_id in self._sequence(removed, unplaced):
            if self.draft.insert(job_id).found:
                added.append(job_id)
            elif len(self.order) - len(self.draft.placed) > self.now.unplaced + len(removed):
                break
        reached = self._standing()
        if not reached.beats(self.best, slack) and not reached.beats(self.now):
            self._undo(added, before)
            return False
        self.now = reached
        if reached.beats(self.best):
            self.best, self.best_fits = reached, dict(self.draft.placed)
            return True
        return False

    def _undo(self, added: Sequence[str], before: dict[str, Fit]) -> None:
        for job_id in added:
            self.draft.take_out(job_id)
        for job_id, fit in before.items():
            self.draft.put(job_id, fit)

    def _choose(self) -> list[str]:
        """Choose jobs to take out: any, late ones, or neighbours in time."""
        placed = list(self.draft.placed)
        if not placed:
            return []
        count = min(len(placed), self.rng.randint(2, MOST_REMOVED))
        kind = self.rng.random()
        if kind < 0.2:
            return self.rng.sample(placed, count)
        if kind < 0.5:
            costs = self.draft.costs
            return sorted(placed, key=lambda one: -costs[one] * self.rng.random())[:count]
        pivot = self.draft.placed[self.rng.choice(placed)]
        middle = self.rng.randint(pivot.start, pivot.end)

        def distance(job_id: str) -> float:
            fit = self.draft.placed[job_id]
            away = max(fit.start - middle, middle - fit.end, 0)
            return away + self.rng.random() * (fit.end - fit.start)

        return sorted(placed, key=distance)[:count]

    def _sequence(self, removed: Sequence[str], unplaced: Sequence[str]) -> list[str]:
        """Choose the order to put jobs back; those that had no place go first, mostly."""
        jobs = self.draft.jobs
        kind = self.rng.random()
        again = list(removed)
        if kind < 0.4:
            self.rng.shuffle(again)
        elif kind < 0.7:
            noise = {one: self.rng.gauss(0, 1440) for one in again}
            again.sort(key=lambda one: jobs[one].due + noise[one])
        else:
            noise = {one: self.rng.gauss(0, 720) for one in again}
            again.sort(key=lambda one: noise[one] + _urgency(jobs[one]))
        waiting = list(unplaced)
        self.rng.shuffle(waiting)
        order = [*waiting, *again] if self.rng.random() < 0.8 else [*again, *waiting]
        return frozen_first(self.draft.week, order)


def _urgency(job: Job) -> float:
    work = sum(min(mode.dur for mode in op.modes) for op in job.ops)
    return job.release + (job.due - job.release - work) / (0.5 + job.weight)
