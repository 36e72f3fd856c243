"""Ruin and recreate: take some jobs out of a plan and put them back in another order.

Each step is small and valid. A worse plan is gone on from as simulated annealing does: often
while the search is hot, hardly when it has cooled; the best one is kept. With a seed and a
number of steps it is deterministic.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import log
from random import Random

from scheduling.core.ruin import RUINS
from scheduling.core.sketch import Saved, Sketch, cheapest_cost

FEWEST_REMOVED, MOST_REMOVED = 2, 8
HOT, COLD = 0.015, 0.00004
"""Temperature at first and at last, as shares of the objective at the start."""
LEARNING = 0.1
Order = Callable[[Sketch, Random, list[str]], list[str]]


def _shuffled(_: Sketch, rng: Random, jobs: list[str]) -> list[str]:
    rng.shuffle(jobs)
    return jobs


def _by_due(sketch: Sketch, rng: Random, jobs: list[str]) -> list[str]:
    rank = {one: sketch.timetable.routes[one].job.due + rng.gauss(0, 1440) for one in jobs}
    return sorted(jobs, key=rank.__getitem__)


def _by_urgency(sketch: Sketch, rng: Random, jobs: list[str]) -> list[str]:
    rank = {}
    for one in jobs:
        route = sketch.timetable.routes[one]
        slack = route.job.due - route.job.release - route.rest[0] * sketch.timetable.grid
        rank[one] = route.job.release + slack / (0.5 + route.job.weight) + rng.gauss(0, 720)
    return sorted(jobs, key=rank.__getitem__)


def _by_weight(sketch: Sketch, rng: Random, jobs: list[str]) -> list[str]:
    """Jobs that lose most by each hour of work that goes before them come first."""
    rank = {}
    for one in jobs:
        route = sketch.timetable.routes[one]
        rank[one] = -(route.job.weight + 0.05) / (1 + route.rest[0]) * rng.uniform(0.5, 1.5)
    return sorted(jobs, key=rank.__getitem__)


ORDERS: tuple[Order, ...] = (_shuffled, _by_due, _by_urgency, _by_weight)


class _Wheel:
    """Chooses among alternatives, those that helped lately more often."""

    def __init__(self, count: int) -> None:
        self.weights = [1.0] * count

    def choose(self, rng: Random) -> int:
        return rng.choices(range(len(self.weights)), self.weights)[0]

    def learn(self, chosen: int, reward: float) -> None:
        weight = self.weights[chosen]
        self.weights[chosen] = max(0.15, weight + LEARNING * (reward - weight))


class RuinRecreate:
    """A search over plans of one week.

    Parameters
    ----------
    sketch : Sketch
        Where to start; jobs that it lacks are tried again with each step. It is changed.
    seed : int
        Of the random choices.
    """

    def __init__(self, sketch: Sketch, seed: int = 1) -> None:
        self.sketch = sketch
        # Coming late leaves parking free: better in every size measured, from 0.3 to 6 %.
        sketch.placer.together = True
        self.rng = Random(seed)  # noqa: S311 -- a search, not a secret
        self.order = [job.id for job in sketch.week.jobs]
        self.frozen = {
            job.id for job in sketch.week.jobs if any(op.id in sketch.week.frozen for op in job.ops)
        }
        self.least = {one: cheapest_cost(sketch.timetable, one) for one in self.order}
        self.steps = 0
        self._ruins, self._orders = _Wheel(len(RUINS)), _Wheel(len(ORDERS))
        self.restart()

    def restart(self) -> None:
        """Begin again from the sketch as it stands."""
        self.now = self.best = self.sketch.standing
        self.kept: Saved = self.sketch.save()

    def run(self, steps: int, cooled: float = 1.0) -> bool:
        """Take so many steps; return whether the best plan got better.

        Parameters
        ----------
        steps : int
            How many.
        cooled : float
            Share of the search that is over, 0 to 1: the nearer to 1, the stricter.
        """
        before = self.best
        share = HOT * (COLD / HOT) ** min(1.0, max(0.0, cooled))
        heat = share * self.best.objective
        for _ in range(steps):
            self.steps += 1
            self._step(heat)
        return self.best.beats(before)

    def restore_best(self) -> Sketch:
        """Put the sketch back to the best plan found and return it."""
        self.sketch.restore(self.kept)
        self.now = self.best
        return self.sketch

    def insert_exactly(self) -> None:
        """Look exactly for room for jobs of the best plan that have none."""
        self.restore_best()
        for job_id in self.order:
            if job_id not in self.sketch.placed:
                self.sketch.insert_exactly(job_id)
        if self.sketch.standing.beats(self.best):
            self.restart()

    def _step(self, heat: float) -> None:
        sketch, rng = self.sketch, self.rng
        if not sketch.placed:
            removed: list[str] = []
            ruin = 0
        else:
            ruin = self._ruins.choose(rng)
            count = min(len(sketch.placed), rng.randint(FEWEST_REMOVED, MOST_REMOVED))
            removed = RUINS[ruin](sketch, rng, count)
        unplaced = [one for one in self.order if one not in sketch.placed]
        saved = sketch.save()
        for job_id in removed:
            sketch.take_out(job_id)
        order = self._orders.choose(rng)
        slack = -heat * log(1 - rng.random())
        sequence = self._sequence(order, removed, unplaced)
        reward = 0.0
        if self._recreate(sequence, None if unplaced else self.now.objective + slack):
            reward = self._judge(slack)
        if not reward:
            sketch.restore(saved)
        self._ruins.learn(ruin, reward)
        self._orders.learn(order, reward)

    def _judge(self, slack: float) -> float:
        """Go on from the plan reached or not; return what that is worth, 0 if not."""
        reached = self.sketch.standing
        if not reached.beats(self.now, slack):
            return 0.0
        reward = 2.0 if reached.beats(self.now) else 0.5
        self.now = reached
        if reached.beats(self.best):
            self.best, self.kept = reached, self.sketch.save()
            reward = 8.0
        return reward

    def _recreate(self, sequence: Sequence[str], most: float | None) -> bool:
        """Put jobs back; give up as soon as the plan will cost more than ``most``."""
        sketch = self.sketch
        if most is None or sketch.week.objective.makespan:
            for job_id in sequence:
                sketch.insert(job_id)
            return True
        waiting = sum(self.least[one] for one in sequence)
        for job_id in sequence:
            waiting -= self.least[job_id]
            if not sketch.insert(job_id, most - sketch.total - waiting):
                return False
        return True

    def _sequence(self, order: int, removed: list[str], unplaced: list[str]) -> list[str]:
        """Choose the order to put jobs back; those that had no place go first, mostly."""
        again = ORDERS[order](self.sketch, self.rng, list(removed))
        self.rng.shuffle(unplaced)
        sequence = [*unplaced, *again] if self.rng.random() < 0.8 else [*again, *unplaced]
        if self.frozen:
            sequence.sort(key=lambda one: one not in self.frozen)
        return sequence
