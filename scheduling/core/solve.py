"""Plan a week: a first plan at once, a better one as long as time is given.

Insertion by priority rules, then ruin and recreate, then CP-SAT on a few jobs at a time with
everything else fixed. A small week is put into one model, which may prove its optimum. The
answer is never worse than the plan that was given, and passes the checker.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from scheduling.core.bounds import Alone, alone
from scheduling.core.bounds_beside import beside
from scheduling.core.bounds_prices import PriceBound
from scheduling.core.check import check_plan, score
from scheduling.core.effort import Clock, Effort, Progress
from scheduling.core.frozen import frozen_clashes
from scheduling.core.overload import not_together
from scheduling.core.problem import Plan, PlanStatus, Week
from scheduling.core.search import Search, tolerance
from scheduling.core.warmstart import fits_of

__all__ = ["Clock", "Effort", "Progress", "solve"]

WHOLE_MODEL_JOBS = 12
FIRST_WHOLE_SHARE, LAST_WHOLE_SHARE = 0.1, 0.45
"""Of a small week: once its bound is known, the whole model gains more than the search does."""
LATEST_END_SHARE = 0.2
PRICE_SHARES, SMALL_PRICE_SHARES = (0.1, 0.2), (0.1, 0.1)
"""Shares of the time for the bound by prices: before the search and after it."""
PRICES_A_ROUND = 2
LEAST_BOUND_SECONDS = 1.0
"""With less than this a model or prices would hardly be set up."""
LEAST_WORKERS_BESIDE, LEAST_SECONDS_BESIDE = 2, 5.0
SHORT_SECONDS = 3.0
"""A shorter search proves no bounds of single jobs to the last move: it needs the time itself."""
PROOF_SHARE = 0.2
"""Share of the time after which bounds of single jobs are no longer proven to the last move."""


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
    search = Search(week, effort, clock, progress, stop)
    if not week.jobs:
        return Plan(PlanStatus.OPTIMAL, objective=0, bound=0, seconds=search.seconds)
    clash = frozen_clashes(week)
    if clash:
        return Plan(PlanStatus.IMPOSSIBLE, reasons=tuple(clash), seconds=search.seconds)
    given = _given(week, start)
    outright = search.outright()
    if outright is not None:
        return _better(search, outright.plan(), given)
    search.insertion(None if given is None else fits_of(week, given, search.empty.resources))
    search.repair()
    # Alone, the earliest end is the best; a preferred later place would spoil that proof.
    single = alone(
        replace(week, preferred={}),
        search.empty,
        seed=effort.seed,
        hurry=lambda: (
            search.seconds > effort.seconds * PROOF_SHARE or effort.seconds < SHORT_SECONDS
        ),
    )
    if single.reasons:
        texts = tuple(reason.text for reason in single.reasons)
        return Plan(PlanStatus.IMPOSSIBLE, reasons=texts, seconds=search.seconds)
    search.bound = single.total
    search.tell("bound")
    if _may_have_beside(search):
        with beside((search.week, search.bound, single.makespan_points, effort.seed)) as running:
            search.beside = running
            _go_on(search, single)
            search.listen()
            search.beside = None
    else:
        _go_on(search, single)
    return _answer(search, single, given)


def _may_have_beside(search: Search) -> bool:
    """Return whether the bound gets a process: it starts in a second, and cannot be repeated."""
    effort = search.effort
    if effort.workers < LEAST_WORKERS_BESIDE or effort.rounds is not None:
        return False
    return effort.seconds >= LEAST_SECONDS_BESIDE and not (
        search.over() or _only_latest_end(search)
    )


def _go_on(search: Search, single: Alone) -> None:
    """Spend the rest of the time."""
    seconds = search.effort.seconds
    small = len(search.week.jobs) <= WHOLE_MODEL_JOBS
    before, after = (seconds * share for share in (SMALL_PRICE_SHARES if small else PRICE_SHARES))
    takes_turns = search.beside is None and before >= LEAST_BOUND_SECONDS
    prices = _prices(search, single) if takes_turns else None
    _lift(search, prices, search.seconds + before)
    if small:
        search.whole(search.left * FIRST_WHOLE_SHARE, for_bound=False)
    share = LAST_WHOLE_SHARE if small else LATEST_END_SHARE if _only_latest_end(search) else 0.0
    for_model = seconds * share
    if for_model < LEAST_BOUND_SECONDS:
        for_model = 0.0
    for_prices = 0.0 if prices is None or prices.settled else after
    search.improve(seconds - for_model - for_prices)
    _lift(search, prices, seconds - for_model)
    if for_model:
        search.whole(search.left, for_bound=prices is None and search.beside is None)


def _only_latest_end(search: Search) -> bool:
    """Return whether the end of a single job costs nothing: then no job would pay a price."""
    goal = search.week.objective
    return not (goal.flow or goal.tardiness)


def _prices(search: Search, single: Alone) -> PriceBound | None:
    """Return the bound by prices, where there is anything to gain from it."""
    extra = single.makespan_points
    if search.over() or _only_latest_end(search):
        return None
    seed = search.effort.seed
    return PriceBound(search.week, search.empty, known=search.bound, extra=extra, seed=seed)


def _lift(search: Search, prices: PriceBound | None, until: float) -> None:
    """Lift the bound by prices until a time, or as often as the rounds allow."""

    def stop() -> bool:
        return search.seconds >= until or search.over()

    rounds = search.effort.rounds
    turns = 0
    while prices is not None and not prices.settled and not stop():
        if rounds is not None and turns >= rounds * PRICES_A_ROUND:
            return
        search.lift(prices.improve(stop))
        search.tell("bound")
        turns += 1


def _answer(search: Search, single: Alone, given: Plan | None) -> Plan:
    now = search.standing()
    if search.sketch is None or now is None or now.unplaced:
        if given is not None:
            return replace(given, bound=single.total, seconds=search.seconds)
        if search.impossible:
            reasons = tuple(not_together(search.week))
            return Plan(PlanStatus.IMPOSSIBLE, reasons=reasons, seconds=search.seconds)
        return Plan(
            PlanStatus.NONE_FOUND,
            seconds=search.seconds,
            reasons=("no plan for all jobs was found in the time",),
        )
    return _better(search, search.sketch.draft().plan(), given)


def _better(search: Search, plan: Plan, given: Plan | None) -> Plan:
    """Return the better of what was found and what was given, with the bound."""
    found = plan.objective or 0.0
    if given is not None and given.objective is not None and given.objective <= found:
        plan = given
    value = plan.objective or 0.0
    # A bound above a plan is refuted: then nothing is proven.
    refuted = search.bound > value + tolerance(value)
    bound = 0.0 if refuted else min(search.bound, value)
    proven = not refuted and value - bound <= tolerance(value)
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
