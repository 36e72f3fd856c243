"""Two answers to trouble: nobody else moves, and the best with a few others moved.

The first keeps every other job where it is and proves the best for the jobs that are hit. The
second lets at most so many other jobs leave their places, and each that does costs what the
week's objective says of a change. Both start from a plan, and are repeatable with one worker
and a number of rounds.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, islice, permutations
from random import Random

from ortools.sat.python import cp_model

from scheduling.core.check import score
from scheduling.core.cpmodel import Limits, solver_for
from scheduling.core.effort import Clock, Effort, Progress
from scheduling.core.explain import missing, why_not
from scheduling.core.fit import Fit, Reason
from scheduling.core.freeindex import FreeIndex
from scheduling.core.insertion import Draft, week_resources
from scheduling.core.modelchange import limit_moved
from scheduling.core.problem import Plan, PlanStatus
from scheduling.core.trouble import Damage
from scheduling.core.warmstart import draft_of
from scheduling.core.weekmodel import WeekModel

ORDERS = 24
"""So many orders of the hit jobs are tried for a first answer."""
FREE_OTHERS = 8
"""Others that may move in one model; more make it slow, and few are allowed to move anyhow."""
ROOM_TRIES = 120
ROOM_SHARE = 0.4
"""Share of the time for quick tries before the models."""
MODEL_SECONDS = 3.0


@dataclass(frozen=True, slots=True)
class Mended:
    """An answer to trouble.

    Attributes
    ----------
    plan : Plan
        Of the changed week. ``optimal`` means proven among all plans that leave alone the jobs
        that were to be left alone; ``impossible`` and ``none_found`` have ``reasons``.
    moved : tuple of str
        Other jobs that do not keep their places.
    reasons : tuple of Reason
        Why there is no answer.
    """

    plan: Plan
    moved: tuple[str, ...] = ()
    reasons: tuple[Reason, ...] = ()

    @property
    def found(self) -> bool:
        """Whether there is a plan."""
        return bool(self.plan.ops)

    @property
    def proven(self) -> bool:
        """Whether no better answer with the same jobs left alone is possible."""
        return self.plan.status is PlanStatus.OPTIMAL


def nobody_else_moves(damage: Damage, effort: Effort, *, clock: Clock) -> Mended:
    """Return the best plan in which only the hit jobs change.

    Parameters
    ----------
    damage : Damage
        The changed week; see :func:`scheduling.core.trouble.assess`.
    effort : Effort
        Time limit, seed, workers; with ``rounds`` the time is counted by the solver's own
        clock, so that the answer is the same every time.
    clock : callable
        Seconds that only go forward.
    """
    return _Mending(damage, effort, clock).nobody()


def few_move(
    damage: Damage,
    first: Mended,
    most: int,
    effort: Effort,
    *,
    clock: Clock,
    progress: Callable[[Progress], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Mended:
    """Return the best plan found in which at most ``most`` other jobs move.

    Parameters
    ----------
    damage, effort, clock
        As for :func:`nobody_else_moves`.
    first : Mended
        Its answer, found or not; this one is never worse.
    most : int
        How many others may move.
    progress : callable, optional
        Is told each step; the bound is 0, for none is proven on the way.
    stop : callable, optional
        Is asked between steps.
    """
    return _Mending(damage, effort, clock, progress, stop).few(first, most)


class _Mending:
    def __init__(
        self,
        damage: Damage,
        effort: Effort,
        clock: Clock,
        progress: Callable[[Progress], None] | None = None,
        stop: Callable[[], bool] | None = None,
    ) -> None:
        self.damage, self.effort, self.clock = damage, effort, clock
        self.progress, self.stop = progress, stop
        self.began = clock()
        self.week = damage.week
        self.empty = FreeIndex(week_resources(self.week))
        self.hit = list(damage.hit)

    @property
    def seconds(self) -> float:
        return self.clock() - self.began

    def over(self) -> bool:
        return self.seconds >= self.effort.seconds or (self.stop is not None and self.stop())

    # Nobody else ----------------------------------------------------------------------------

    def nobody(self) -> Mended:
        draft = draft_of(self.week, self.damage.plan, self.damage.others)
        reasons = self._never(draft)
        if reasons:
            return self._impossible(reasons)
        if not self.hit:
            return self._answer(draft, proven=True)
        self._first(draft)
        status, fits, bound = self._solve(draft, self.hit, self.effort.seconds)
        if status == cp_model.INFEASIBLE:
            return self._impossible(self._why(draft))
        _put(draft, fits)
        if len(draft.placed) < len(self.week.jobs):
            return self._none_found()
        return self._answer(draft, proven=status == cp_model.OPTIMAL, bound=bound)

    def _never(self, draft: Draft) -> tuple[Reason, ...]:
        """Return why a hit job could not be done even in an empty shop."""
        reasons: list[Reason] = []
        for job_id in self.hit:
            chain, job = draft.chains[job_id], draft.jobs[job_id]
            lacking = missing(chain, self.empty.resources)
            if lacking:
                reasons += lacking
                continue
            alone = Draft(self.week)
            if not alone.insert(job_id).found:
                reasons += why_not(chain, self.empty, job.release)
        return tuple(reasons)

    def _first(self, draft: Draft) -> None:
        """Put the hit jobs into the draft in the best of some orders, if one has room for all."""
        best: dict[str, Fit] = {}
        cost = float("inf")
        for count, order in enumerate(permutations(self.hit)):
            if count >= ORDERS or (count and self.over()):
                break
            fits = {job_id: draft.insert(job_id) for job_id in order}
            value = draft.objective
            for job_id, fit in fits.items():
                if fit.found:
                    draft.take_out(job_id)
            if all(fit.found for fit in fits.values()) and value < cost:
                best, cost = fits, value
        _put(draft, best)

    def _why(self, draft: Draft) -> tuple[Reason, ...]:
        """Return which hit jobs find no room among the others, one after another."""
        reasons: list[Reason] = []
        for job_id in self.hit:
            if job_id not in draft.placed:
                fit = draft.insert(job_id)
                reasons += fit.reasons
        return tuple(reasons)

    # A few others ---------------------------------------------------------------------------

    def few(self, first: Mended, most: int) -> Mended:
        if first.reasons and self._never(Draft(self.week)):
            return first
        start = first.plan if first.found else self.damage.plan
        everyone = [job.id for job in self.week.jobs]
        placed = everyone if first.found else self.damage.others
        draft = draft_of(self.week, start, placed)
        if most <= 0 or not self.hit or not self.damage.others:
            return first
        self._make_room(draft, most)
        proven = self._search(draft, most)
        if not self._whole(draft):
            return self._none_found()
        return self._answer(draft, proven=proven)

    def _make_room(self, draft: Draft, most: int) -> None:
        """Take out the hit jobs and a few others, put the hit ones back first; keep the best.

        Milliseconds a try: the first answer where the hit jobs find no room, and a good start
        for the models where they do.
        """
        order = self._in_the_way(draft, (), self._random(), 0)[: 2 * FREE_OTHERS]
        best: dict[str, Fit] = {}
        cost = draft.objective if self._whole(draft) else float("inf")
        tries = (
            chosen
            for count in range(1, most + 1)
            for chosen in islice(combinations(order, count), ROOM_TRIES)
        )
        for chosen in tries:
            if self.over() or self._hurried():
                break
            again = [*self.hit, *chosen]
            before = {one: draft.take_out(one) for one in again if one in draft.placed}
            found = all(draft.insert(one).found for one in again)
            if found and draft.objective < cost - 1e-9:
                cost, best = draft.objective, {one: draft.placed[one] for one in again}
            for one in again:
                if one in draft.placed:
                    draft.take_out(one)
            _put(draft, before)
        _put(draft, best)
        self._tell(draft)

    def _whole(self, draft: Draft) -> bool:
        return len(draft.placed) == len(self.week.jobs)

    def _hurried(self) -> bool:
        """Whether the time for quick tries is over; a number of rounds knows no time."""
        timed = self.effort.rounds is None
        return timed and self.seconds > ROOM_SHARE * self.effort.seconds

    def _random(self) -> Random:
        return Random(self.effort.seed)  # noqa: S311 -- a search, not a secret

    def _search(self, draft: Draft, most: int) -> bool:
        """Free the hit jobs and a few others at a time, those first that are most in the way.

        Returns whether the best is proven, which it is where all others fit into one model.
        """
        rng = self._random()
        others = list(self.damage.others)
        exact = len(others) <= FREE_OTHERS
        rounds = self.effort.rounds
        turn = 0
        while rounds is None or turn < rounds:
            if turn and self.over():
                break
            away = self._moved(draft)
            room = max(0, FREE_OTHERS - len(away))
            free = others if exact else [*away, *self._in_the_way(draft, away, rng, turn)[:room]]
            status, fits, _ = self._solve(draft, [*self.hit, *free], MODEL_SECONDS, free, most)
            _put(draft, fits)
            self._tell(draft)
            if exact and status in (cp_model.OPTIMAL, cp_model.INFEASIBLE):
                return status == cp_model.OPTIMAL
            turn += 1
        return False

    def _moved(self, draft: Draft) -> list[str]:
        if not self._whole(draft):
            return []
        return list(_moved(self.damage, draft.plan()))

    def _in_the_way(self, draft: Draft, away: Sequence[str], rng: Random, turn: int) -> list[str]:
        """Return the others, those that meet the hit jobs in time and place first.

        The first turn takes them as they come, later ones shuffle a little more each.
        """
        windows = [
            (
                max(self.damage.now, draft.jobs[one].release),
                draft.placed[one].end if one in draft.placed else self.week.horizon,
            )
            for one in self.hit
        ]
        wanted = {resource for one in self.hit for resource in self._resources(one, draft)}

        def weight(job_id: str) -> float:
            met = 0
            for hold in draft.placed[job_id].holds:
                if hold.resource in wanted:
                    met += sum(
                        max(0, min(hold.end, end) - max(hold.start, start))
                        for start, end in windows
                    )
            return met * (1 + turn * rng.random()) + rng.random()

        candidates = [job_id for job_id in self.damage.others if job_id not in away]
        return sorted(candidates, key=lambda one: -weight(one))

    def _resources(self, job_id: str, draft: Draft) -> set[str]:
        """Return the spots and people that could serve a job, parking aside."""
        ops = draft.jobs[job_id].ops
        caps = {op.spot_cap for op in ops}
        skills = {op.skill for op in ops if op.skill}
        spots = {f"spot {s.id}" for s in self.week.spots if not s.park and s.caps & caps}
        return spots | {f"crew {c.id}" for c in self.week.crew if c.skills & skills}

    # Solving and answering ------------------------------------------------------------------

    def _solve(
        self,
        draft: Draft,
        free: Sequence[str],
        seconds: float,
        others: Sequence[str] = (),
        most: int = 0,
    ) -> tuple[cp_model.CpSolverStatus, dict[str, Fit], float | None]:
        model = WeekModel(draft, free, self.empty)
        if others:
            limit_moved(model.layer, [one for one in model.jobs if one.job.id in others], most)
        left = max(0.05, min(seconds, self.effort.seconds - self.seconds))
        counted = self.effort.rounds is not None
        limits = Limits(
            seconds=max(seconds, self.effort.seconds) if counted else left,
            seed=self.effort.seed,
            workers=self.effort.workers,
            deterministic=seconds if counted else None,
            has_hint=all(job_id in draft.placed for job_id in free),
            few_jobs=True,
        )
        solver = solver_for(limits)
        status = solver.solve(model.layer.model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return status, {}, None
        bound = model.in_points(solver.best_objective_bound)
        fixed = sum(cost for job_id, cost in draft.costs.items() if job_id not in free)
        return status, model.read(solver), fixed + bound

    def _answer(self, draft: Draft, *, proven: bool, bound: float | None = None) -> Mended:
        plan = draft.plan(self.seconds)
        value, parts = score(self.damage.week, plan)
        status = PlanStatus.OPTIMAL if proven else PlanStatus.FEASIBLE
        low = value if proven else bound
        if low is not None:
            low = min(low, value)
        plan = replace(plan, status=status, objective=value, bound=low, parts=parts)
        return Mended(plan, _moved(self.damage, plan))

    def _impossible(self, reasons: tuple[Reason, ...]) -> Mended:
        texts = tuple(reason.text for reason in reasons)
        plan = Plan(PlanStatus.IMPOSSIBLE, reasons=texts, seconds=self.seconds)
        return Mended(plan, reasons=reasons)

    def _none_found(self) -> Mended:
        text = "no plan for all jobs was found in the time"
        return Mended(Plan(PlanStatus.NONE_FOUND, reasons=(text,), seconds=self.seconds))

    def _tell(self, draft: Draft) -> None:
        if self.progress is not None:
            best = draft.objective if self._whole(draft) else None
            self.progress(Progress(best, 0.0, self.seconds, "few move"))


def _put(draft: Draft, fits: dict[str, Fit]) -> None:
    """Place jobs anew; all of them leave before the first comes back."""
    for job_id in fits:
        if job_id in draft.placed:
            draft.take_out(job_id)
    for job_id, fit in fits.items():
        draft.put(job_id, fit)


def _moved(damage: Damage, plan: Plan) -> tuple[str, ...]:
    """Return the others of which an operation is not where it was."""
    return tuple(
        job.id
        for job in damage.week.jobs
        if job.id not in damage.hit
        and any(_place(damage.plan, op.id) != _place(plan, op.id) for op in job.ops)
    )


def _place(plan: Plan, op_id: str) -> tuple[int, int, str, frozenset[str]]:
    placed = plan.ops[op_id]
    return placed.start, placed.end, placed.spot, frozenset(placed.crew)
