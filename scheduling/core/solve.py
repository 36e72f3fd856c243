"""Plan a week: a first plan at once, a better one as long as time is given.

Insertion by priority rules, then ruin and recreate, then CP-SAT on a few jobs at a time with
everything else fixed. A small week is put into one model, which may prove its optimum. The
answer is never worse than the plan that was given, and passes the checker.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from random import Random

from ortools.sat.python import cp_model

from scheduling.core.bounds import Alone, alone
from scheduling.core.check import check_plan, score
from scheduling.core.cpmodel import Limits, solver_for
from scheduling.core.fit import Fit
from scheduling.core.freeindex import FreeIndex
from scheduling.core.frozen import frozen_clashes
from scheduling.core.halting import halting
from scheduling.core.improve import RuinRecreate, Standing
from scheduling.core.insertion import RULES, Draft, insert_all, week_resources
from scheduling.core.problem import Plan, PlanStatus, Week
from scheduling.core.weekmodel import WeekModel

Clock = Callable[[], float]
WHOLE_MODEL_JOBS = 12
FEWEST_FREE, MOST_FREE = 3, 7
NEIGHBOURHOOD_SECONDS = 1.5
STEPS_AT_ONCE = 4
FIRST_WHOLE_SHARE, SMALL_BOUND_SHARE, BOUND_SHARE = 0.2, 0.4, 0.15
BOUND_JOBS = 40
"""Above this many jobs the whole model does not lift the bound in any time worth waiting."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search has come; ``best`` and ``bound`` are in points."""

    best: float | None
    bound: float
    seconds: float
    phase: str

    @property
    def gap(self) -> float | None:
        """Share of the best that is not proven to be needed."""
        if self.best is None:
            return None
        return max(0.0, (self.best - self.bound) / self.best) if self.best > 0 else 0.0


@dataclass(frozen=True, slots=True)
class Effort:
    """How long to search and how.

    Parameters
    ----------
    seconds : float
        Time limit.
    seed : int
        Of all random choices.
    workers : int
        Threads of the solver; one beside a web process.
    rounds : int, optional
        Number of rounds of improvement. With it, one worker and a time limit that is not
        reached, the answer is the same every time.
    gap : float
        Stop when no more than this share is unproven.
    """

    seconds: float
    seed: int = 1
    workers: int = 1
    rounds: int | None = None
    gap: float = 0.0


class _Search:
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
        self.draft: Draft | None = None
        self.optimal = False

    @property
    def seconds(self) -> float:
        return self.clock() - self.began

    @property
    def left(self) -> float:
        return self.effort.seconds - self.seconds

    def standing(self) -> Standing | None:
        if self.draft is None:
            return None
        return Standing(len(self.week.jobs) - len(self.draft.placed), self.draft.objective)

    def tell(self, phase: str) -> None:
        if self.progress is not None:
            now = self.standing()
            best = now.objective if now and not now.unplaced else None
            self.progress(Progress(best, self.bound, self.seconds, phase))

    def over(self) -> bool:
        if self.left <= 0 or (self.stop is not None and self.stop()):
            return True
        now = self.standing()
        if now is None or now.unplaced:
            return False
        return self.optimal or now.objective - self.bound <= self.effort.gap * now.objective + 1e-6

    def insertion(self) -> None:
        """Take the best of the priority rules; the first of them whatever the time."""
        keeping = [True, False] if self.week.preferred else [False]
        for rule, keep in ((rule, keep) for rule in RULES.values() for keep in keeping):
            if self.draft is not None and self.over():
                return
            draft, _ = insert_all(self.week, rule(self.week), keep=keep)
            reached = Standing(len(self.week.jobs) - len(draft.placed), draft.objective)
            now = self.standing()
            if now is None or reached.beats(now):
                self.draft = draft
                self.tell("insertion")

    def whole(self, seconds: float, *, for_bound: bool) -> None:
        """Put all jobs into one model; it may find the optimum, and it lifts the bound."""
        if self.draft is None or self.over():
            return
        everyone = [job.id for job in self.week.jobs]
        self._improve_by_model(everyone, seconds, whole=True, for_bound=for_bound)
        self.tell("bound" if for_bound else "whole model")

    def _improve_by_model(
        self, free: Sequence[str], seconds: float, *, whole: bool = False, for_bound: bool = False
    ) -> None:
        draft = self.draft
        if draft is None:
            return
        model = WeekModel(draft, free, self.empty)
        hinted = all(job_id in draft.placed for job_id in free)
        limits = Limits(
            seconds=max(0.01, min(seconds, self.left)),
            seed=self.effort.seed,
            workers=self.effort.workers,
            deterministic=None if self.effort.rounds is None else seconds,
            has_hint=hinted,
            for_bound=for_bound,
        )
        solver = solver_for(limits)
        with halting(solver, self.stop):
            status = solver.solve(model.layer.model)
        if whole and status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self.bound = max(self.bound, model.in_points(solver.best_objective_bound))
        if whole and status == cp_model.OPTIMAL:
            self.optimal = True
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self._adopt(model.read(solver))

    def _adopt(self, fits: dict[str, Fit]) -> None:
        """Take over what a model found, unless it is worse."""
        draft, before = self.draft, self.standing()
        if draft is None or before is None:
            return
        old = {job_id: draft.take_out(job_id) for job_id in fits if job_id in draft.placed}
        for job_id, fit in fits.items():
            draft.put(job_id, fit)
        after = self.standing()
        if after is not None and before.beats(after):
            for job_id in fits:
                draft.take_out(job_id)
            for job_id, fit in old.items():
                draft.put(job_id, fit)

    def improve(self, until: float) -> None:
        """Take turns: many small steps of ruin and recreate, then one model of a few jobs."""
        rounds = self.effort.rounds
        turn = 0
        while not self.over() and self.seconds < until and (rounds is None or turn < rounds):
            done = self.seconds / until if rounds is None else turn / rounds
            self._ruin_and_recreate(turn, min(1.0, done))
            if not self.over() and len(self.week.jobs) > 1:
                self._improve_by_model(self._neighbours(), NEIGHBOURHOOD_SECONDS)
            self.tell("improve")
            turn += 1

    def _ruin_and_recreate(self, turn: int, cooled: float) -> None:
        if self.draft is None:
            return
        search = RuinRecreate(self.draft, seed=self.effort.seed + turn)
        begun = self.seconds
        for _ in range(10):
            search.run(STEPS_AT_ONCE, cooled)
            timed = self.effort.rounds is None and self.seconds - begun > NEIGHBOURHOOD_SECONDS
            if timed or self.over():
                break
        self.draft = search.restore_best()

    def _neighbours(self) -> list[str]:
        """Choose a few jobs that stand near each other in time, costly ones more often."""
        draft = self.draft
        if draft is None:
            return []
        jobs = [job.id for job in self.week.jobs]
        count = min(len(jobs), self.rng.randint(FEWEST_FREE, MOST_FREE))
        unplaced = [job_id for job_id in jobs if job_id not in draft.placed]
        placed = list(draft.placed)
        if not placed:
            return unplaced[:count]
        weights = [1e-6 + draft.costs[job_id] for job_id in placed]
        pivot = draft.placed[self.rng.choices(placed, weights)[0]]
        noise = {job_id: self.rng.random() for job_id in placed}

        def distance(job_id: str) -> float:
            fit = draft.placed[job_id]
            apart = max(0, fit.start - pivot.end, pivot.start - fit.end)
            return apart + noise[job_id] * (pivot.end - pivot.start + 1)

        near = sorted(placed, key=distance)
        return [*unplaced[:2], *near][:count]


def solve(
    week: Week,
    effort: Effort,
    *,
    clock: Clock,
    start: Plan | None = None,
    progress: Callable[[Progress], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Plan:
    """Return the best plan found for a week.

    Parameters
    ----------
    week : Week
        The problem.
    effort : Effort
        Time limit, seed and so on.
    clock : callable
        Seconds that only go forward, such as ``time.monotonic``.
    start : Plan, optional
        A plan of this week that the answer must not be worse than.
    progress : callable, optional
        Is told each step: best, bound, gap and seconds.
    stop : callable, optional
        Is asked often; the search ends soon after it says yes.

    Returns
    -------
    Plan
        Optimal, feasible, impossible with reasons, or none found in the time.
    """
    search = _Search(week, effort, clock, progress, stop)
    if not week.jobs:
        return Plan(PlanStatus.OPTIMAL, objective=0, bound=0, seconds=search.seconds)
    clash = frozen_clashes(week)
    if clash:
        return Plan(PlanStatus.IMPOSSIBLE, reasons=tuple(clash), seconds=search.seconds)
    search.insertion()
    # Alone, the earliest end is the best; a preferred later place would spoil that proof.
    single = alone(replace(week, preferred={}), search.empty, seed=effort.seed)
    if single.reasons:
        texts = tuple(reason.text for reason in single.reasons)
        return Plan(PlanStatus.IMPOSSIBLE, reasons=texts, seconds=search.seconds)
    search.bound = single.total
    search.tell("bound")
    small = len(week.jobs) <= WHOLE_MODEL_JOBS
    if small:
        search.whole(search.left * FIRST_WHOLE_SHARE, for_bound=False)
    search.improve(effort.seconds * (1 - (SMALL_BOUND_SHARE if small else BOUND_SHARE)))
    if len(week.jobs) <= BOUND_JOBS:
        search.whole(search.left, for_bound=True)
    return _answer(search, single, start)


def _answer(search: _Search, single: Alone, start: Plan | None) -> Plan:
    now = search.standing()
    given = _given(search.week, start)
    if search.draft is None or now is None or now.unplaced:
        if given is not None:
            return replace(given, bound=single.total, seconds=search.seconds)
        return Plan(
            PlanStatus.NONE_FOUND,
            seconds=search.seconds,
            reasons=("no plan for all jobs was found in the time",),
        )
    plan = search.draft.plan()
    if given is not None and given.objective is not None and given.objective <= now.objective:
        plan = given
    value = plan.objective or 0.0
    bound = min(search.bound, value)
    proven = value - bound <= 1e-6 * max(1.0, value)
    status = PlanStatus.OPTIMAL if proven else PlanStatus.FEASIBLE
    return replace(plan, status=status, bound=bound, seconds=search.seconds)


def _given(week: Week, start: Plan | None) -> Plan | None:
    """Return the given plan with its own score, if it is a valid plan of this week."""
    if start is None:
        return None
    bare = replace(start, status=PlanStatus.FEASIBLE, objective=None, bound=None)
    if check_plan(week, bare):
        return None
    value, parts = score(week, bare)
    return replace(bare, objective=value, parts=parts)
