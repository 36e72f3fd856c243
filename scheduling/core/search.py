"""The search behind a plan: rules, ruin and recreate, and models of a few jobs in turn."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from random import Random

from ortools.sat.python import cp_model

from scheduling.core.bounds_beside import Beside
from scheduling.core.cpmodel import Limits, solver_for
from scheduling.core.effort import Clock, Effort, Progress
from scheduling.core.fit import Fit
from scheduling.core.freeindex import FreeIndex
from scheduling.core.gains import Gains
from scheduling.core.halting import halting
from scheduling.core.improve import RuinRecreate
from scheduling.core.insertion import RULES, Draft, Rule, frozen_first, week_resources
from scheduling.core.problem import Week
from scheduling.core.ruin import neighbours
from scheduling.core.sketch import Sketch, Standing
from scheduling.core.timetable import Timetable
from scheduling.core.weekmodel import WeekModel

FEWEST_FREE, MOST_FREE = 3, 6
STEPS_AT_ONCE = 10
STEPS_A_ROUND = 150
REPAIR_STEPS = 400
MODEL_SECONDS = 1.0
"""Limit of one model of a few jobs; most are proven much sooner."""
TEXTBOOK_OPS = 500
"""Up to so many operations a textbook shop is solved in one model."""


class Search:
    """One search for a plan of a week, driven phase by phase.

    Parameters
    ----------
    week : Week
        The problem.
    effort : Effort
        Limits.
    clock : callable
        Seconds that only go forward.
    progress : callable or None
        Is told of each phase.
    stop : callable or None
        Is asked whether to end.

    Attributes
    ----------
    sketch : Sketch or None
        The best plan so far; jobs may be missing.
    bound : float
        What no plan can beat, as far as is known.
    optimal : bool
        Whether the best plan is proven.
    impossible : bool
        Whether it is proven that not all jobs can be done.
    beside : Beside or None
        A process that lifts the bound meanwhile.
    """

    def __init__(
        self,
        week: Week,
        effort: Effort,
        clock: Clock,
        progress: Callable[[Progress], None] | None,
        stop: Callable[[], bool] | None,
    ) -> None:
        self.week, self.effort, self.clock = week, effort, clock
        self.progress, self.stop = progress, stop
        self.began = clock()
        self.empty = FreeIndex(week_resources(week))
        self.rng = Random(effort.seed)  # noqa: S311 -- a search, not a secret
        self.bound = 0.0
        self.sketch: Sketch | None = None
        self.optimal = self.impossible = False
        self.beside: Beside | None = None
        self.latest_end = only_latest_end(week)

    @property
    def seconds(self) -> float:
        """Seconds gone."""
        return self.clock() - self.began

    @property
    def left(self) -> float:
        """Seconds left."""
        return self.effort.seconds - self.seconds

    @property
    def draft(self) -> Draft | None:
        """The best plan so far as a draft."""
        return None if self.sketch is None else self.sketch.draft()

    def standing(self) -> Standing | None:
        """Return how good the best plan is."""
        return None if self.sketch is None else self.sketch.standing

    def tell(self, phase: str) -> None:
        """Tell how far it has come."""
        self._tell(self.standing(), phase)

    def _tell(self, now: Standing | None, phase: str) -> None:
        if self.progress is not None:
            best = now.objective if now and not now.unplaced else None
            self.progress(Progress(best, self.bound, self.seconds, phase))

    def over(self) -> bool:
        """Return whether to end: time, a stop, or nothing left to gain."""
        return self._over(self.standing())

    def _over(self, now: Standing | None) -> bool:
        self.listen()
        if self.left <= 0 or self.impossible or (self.stop is not None and self.stop()):
            return True
        if now is None or now.unplaced:
            return False
        return self.optimal or now.objective - self.bound <= self.effort.gap * now.objective + 1e-6

    # Phases --------------------------------------------------------------------------------

    def outright(self) -> Draft | None:
        """Solve a textbook shop in one model at once, all the time; return what it found.

        That is a week in which only the latest end counts and only times are open. The solver's
        own first plan is better than that of a priority rule, which would hold it up as a hint,
        and no search around it comes near its proof.
        """
        if not self.latest_end or len(self.week.operations) > TEXTBOOK_OPS:
            return None
        draft = Draft(self.week)
        try:
            model = WeekModel(draft, [job.id for job in self.week.jobs], self.empty)
        except ValueError:
            return None  # a job is impossible, which is told elsewhere
        if not model.without_choice or self.over():
            return None
        fits, status = self._run(model, self.left, has_hint=False, whole=True)
        for job_id, fit in fits.items():
            draft.put(job_id, fit)
        self.optimal = status == cp_model.OPTIMAL
        if not fits:
            return None
        self._tell(Standing(0, draft.objective), "whole model")
        return draft

    def insertion(self, given: dict[str, Fit] | None = None) -> None:
        """Take the best of a given plan and the priority rules; one of them whatever the time."""
        timetable = Timetable(self.week, self.empty)
        if given is not None:
            sketch = Sketch(timetable)
            sketch.read(given.items())
            self._offer(sketch, "given")
        keeping = [True, False] if self.week.preferred else [False]
        best: Rule | None = None
        for rule, keep in ((rule, keep) for rule in RULES.values() for keep in keeping):
            if self.sketch is not None and self.over():
                return
            if self._insert(timetable, rule, keep=keep):
                best = rule
        if best is not None and not self.over():
            self._insert(timetable, best, together=True)

    def _insert(
        self, timetable: Timetable, rule: Rule, *, keep: bool = False, together: bool = False
    ) -> bool:
        """Insert all jobs by a rule; return whether that is the best plan so far."""
        sketch = Sketch(timetable)
        sketch.placer.together = together
        if keep:
            sketch.keep_preferred()
        sketch.insert_all(frozen_first(self.week, rule(self.week)))
        return self._offer(sketch, "insertion")

    def _offer(self, sketch: Sketch, phase: str) -> bool:
        now = self.standing()
        if now is not None and not sketch.standing.beats(now):
            return False
        self.sketch = sketch
        self.tell(phase)
        return True

    def repair(self) -> None:
        """Find a place for every job, if the rules left some without; whatever the time.

        A job that cannot be done even alone is left to be named.
        """
        sketch = self.sketch
        if sketch is None or not sketch.standing.unplaced:
            return
        missing = (job.id for job in self.week.jobs if job.id not in sketch.placed)
        if not all(Sketch(sketch.timetable).insert_exactly(job_id) for job_id in missing):
            return
        ruin = RuinRecreate(sketch, self.effort.seed)
        for _ in range(REPAIR_STEPS):
            ruin.run(1)
            if not ruin.best.unplaced or (self.stop is not None and self.stop()):
                break
        self.sketch = ruin.restore_best()
        self.tell("insertion")

    def improve(self, until: float) -> None:
        """Take turns: many small steps of ruin and recreate, and models of a few jobs.

        Whichever gained more by the second gets more of the time.
        """
        if self.sketch is None:
            return
        ruin = RuinRecreate(self.sketch, self.effort.seed)
        rounds, turn = self.effort.rounds, 0
        begun = self.seconds
        gains = Gains()
        while not self._over(ruin.best) and self.seconds < until and turn != rounds:
            turn += 1
            before, since = ruin.best, self.seconds
            self._ruin_and_recreate(ruin, (begun, until), turn)
            gains.of_steps(before, ruin.best, self.seconds - since)
            if not self._over(ruin.best) and len(self.week.jobs) > 1:
                before, since = ruin.best, self.seconds
                if rounds is not None or gains.models_turn():
                    self._neighbourhood(ruin, until)
                    gains.of_model(before, ruin.best, self.seconds - since)
            self._tell(ruin.best, "improve")
        self.sketch = ruin.restore_best()

    def _ruin_and_recreate(self, ruin: RuinRecreate, span: tuple[float, float], turn: int) -> None:
        """Take the small steps of one turn."""
        begun, until = span
        rounds = self.effort.rounds
        for _ in range(STEPS_A_ROUND // STEPS_AT_ONCE):
            done = (self.seconds - begun) / max(1e-6, until - begun)
            ruin.run(STEPS_AT_ONCE, done if rounds is None else turn / rounds)
            if self._over(ruin.best) or self.seconds >= until:
                break
        if ruin.best.unplaced:
            ruin.insert_exactly()

    def _neighbourhood(self, ruin: RuinRecreate, until: float) -> None:
        """Solve a model of a few jobs of the best plan; go on from it if it is better."""
        saved = ruin.sketch.save()
        best = ruin.sketch
        best.restore(ruin.kept)
        free = neighbours(best, self.rng, self.rng.randint(FEWEST_FREE, MOST_FREE))
        seconds = min(MODEL_SECONDS, self.left, until - self.seconds)
        fits, _ = self._solve(best.draft(), free, seconds)
        best.adopt(fits)
        if best.standing.beats(ruin.best):
            ruin.restart()
        else:
            best.restore(saved)

    def whole(self, seconds: float, *, for_bound: bool) -> None:
        """Put all jobs into one model; it may find the optimum, and it lifts the bound."""
        sketch = self.sketch
        if sketch is None or self.over():
            return
        everyone = [job.id for job in self.week.jobs]
        fits, status = self._solve(
            sketch.draft(), everyone, seconds, whole=True, for_bound=for_bound
        )
        saved, before = sketch.save(), sketch.standing
        sketch.adopt(fits)
        if before.beats(sketch.standing):
            # An optimum worse than a plan that is there comes from a wrong bound and is none.
            sketch.restore(saved)
        else:
            self.optimal = self.optimal or status == cp_model.OPTIMAL
        self.tell("bound" if for_bound else "whole model")

    def _solve(
        self,
        draft: Draft,
        free: Sequence[str],
        seconds: float,
        *,
        whole: bool = False,
        for_bound: bool = False,
    ) -> tuple[dict[str, Fit], cp_model.CpSolverStatus]:
        """Solve a model of some jobs with the others fixed; return fits, if found, and status."""
        model = WeekModel(draft, free, self.empty)
        if whole and len(draft.placed) == len(draft.jobs):
            # Without a plan nothing would tell a wrong bound from an impossible week.
            model.at_least(self.bound)
        hinted = all(job_id in draft.placed for job_id in free)
        return self._run(model, seconds, has_hint=hinted, whole=whole, for_bound=for_bound)

    def _run(
        self,
        model: WeekModel,
        seconds: float,
        *,
        has_hint: bool,
        whole: bool,
        for_bound: bool = False,
    ) -> tuple[dict[str, Fit], cp_model.CpSolverStatus]:
        repeatable = self.effort.rounds is not None
        limits = Limits(
            seconds=max(0.01, self.left if repeatable else min(seconds, self.left)),
            seed=self.effort.seed,
            workers=self._workers(),
            deterministic=max(0.01, seconds) if repeatable else None,
            has_hint=has_hint,
            for_bound=for_bound,
            latest_end=self.latest_end,
        )
        solver = solver_for(limits)
        with halting(solver, self.stop):
            status = solver.solve(model.layer.model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            if whole and status == cp_model.INFEASIBLE:
                self._nothing_in_model()
            return {}, status
        if whole:
            self.lift(model.in_points(solver.best_objective_bound))
        return model.read(solver), status

    def _workers(self) -> int:
        """Return how many threads a model gets: all but the one beside."""
        busy = self.beside is not None and self.beside.at_work
        return max(1, self.effort.workers - busy)

    def _nothing_in_model(self) -> None:
        """Take the answer of a model of all jobs that nothing is in it.

        With a plan at hand that refutes the bound it was told, unless the two are as good as
        the same; the week is impossible only where there is no plan.
        """
        now = self.standing()
        if now is None or now.unplaced:
            self.impossible = True
        else:
            self.optimal = abs(now.objective - self.bound) <= tolerance(now.objective)

    def listen(self) -> None:
        """Take the bound that was found meanwhile."""
        if self.beside is not None:
            self.lift(self.beside.bound)

    def lift(self, bound: float) -> None:
        """Take a bound if it is higher; one above a plan that is there is wrong and left out."""
        now = self.standing()
        if now is None or now.unplaced or bound <= now.objective + tolerance(now.objective):
            self.bound = max(self.bound, bound)


def tolerance(points: float) -> float:
    """Return by how much two objectives of a week may differ in the last digits only."""
    return 1e-6 * max(1.0, points)


def only_latest_end(week: Week) -> bool:
    """Whether a plan is worth nothing but its latest end, as in the textbook shops."""
    goal = week.objective
    late = goal.tardiness and any(job.weight for job in week.jobs)
    return bool(goal.makespan) and not (late or goal.flow or goal.move or goal.change)
