"""Ask for a better week or a mended one, search for it, stop it, and leave it be.

The search runs in a process of its own, outside any transaction, and tells how far it is. Only
one at a time for each shop: the database keeps that.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any, Final

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from scheduling.core.problem import Plan, PlanStatus
from scheduling.core.replan import few_move, nobody_else_moves
from scheduling.core.solve import Effort, Progress, solve
from scheduling.core.values import ProblemError
from scheduling.models import PlanRun, PlanRunKind, PlanRunState
from scheduling.models.planruns import OPEN_STATES
from scheduling.services.answers import answer_of
from scheduling.services.weekplan import WeekPlan, weekplan_load
from shop.models import Member
from shop.refusals import Conflict, Problem, Refused

logger = logging.getLogger(__name__)

SECONDS: Final = range(5, 301)
MOST_MOVED: Final = range(4)
SEED: Final = 1
FIRST_SHARE: Final = 0.5
"""Of the time, so much at most for the answer in which nobody else moves."""
TELL_SECONDS: Final = 0.5
SILENT: Final = timedelta(minutes=2)
"""A search that has not been heard of for so long is over: its process died."""


def planrun_ask(
    *, member: Member, kind: str, now: datetime, seconds: int = 20, most_moved: int = 2
) -> PlanRun:
    """Ask for a search; whoever asked launches it once this is written.

    Raises
    ------
    Refused
        The time or the number of vehicles is out of bounds.
    Conflict
        A search is going on already.
    """
    if seconds not in SECONDS:
        text = _("Give the search %(least)s to %(most)s seconds, not %(given)s.")
        words = {"least": SECONDS[0], "most": SECONDS[-1], "given": seconds}
        raise Refused(Problem(text % words, field="seconds"))
    if most_moved not in MOST_MOVED:
        text = _("At most %(most)s others can be moved, not %(given)s.")
        words = {"most": MOST_MOVED[-1], "given": most_moved}
        raise Refused(Problem(text % words, field="most_moved"))
    _bury_silent(member, now)
    try:
        with transaction.atomic():
            return PlanRun.objects.create(
                shop=member.shop,
                kind=kind,
                member=member,
                asked_at=now,
                as_of=now,
                heard_at=now,
                most_seconds=seconds,
                most_moved=most_moved if kind == PlanRunKind.MEND else 0,
            )
    except IntegrityError as error:
        # Race: two people press the button. The unique constraint lets one through.
        text = _("A search is going on already; wait for it or stop it.")
        raise Conflict(text) from error


def _bury_silent(member: Member, now: datetime) -> None:
    """End searches whose process died; a queued one may wait longer for its worker."""
    silent = PlanRun.objects.of(member.shop).filter(
        state__in=OPEN_STATES, heard_at__lt=now - SILENT
    )
    silent.update(
        state=PlanRunState.FAILED, ended_at=now, problem=_("The search was not heard of any more.")
    )


def planrun_stop(*, run: PlanRun, now: datetime) -> PlanRun:
    """Ask a search to stop; one that has not begun is over at once, what was found is kept."""
    PlanRun.objects.filter(pk=run.pk, state=PlanRunState.QUEUED).update(
        state=PlanRunState.STOPPED, ended_at=now, stop_asked=True
    )
    PlanRun.objects.filter(pk=run.pk, state=PlanRunState.RUNNING).update(stop_asked=True)
    run.refresh_from_db()
    return run


def planrun_leave(*, run: PlanRun, member: Member, now: datetime) -> PlanRun:
    """Leave everything as it is: the proposal is answered and cannot be accepted any more."""
    if (
        PlanRun.objects.filter(pk=run.pk, answered_at=None)
        .exclude(state__in=OPEN_STATES)
        .update(answered_at=now, answered_by=member)
    ):
        run.refresh_from_db()
        return run
    raise Conflict(_("This proposal was answered already, or its search is not over."))


def planrun_work(*, run_id: int, clock: Callable[[], datetime]) -> None:
    """Search, in the process that was started for it; nothing happens if somebody else does.

    Parameters
    ----------
    clock : callable
        The present moment.
    """
    claimed = PlanRun.objects.filter(pk=run_id, state=PlanRunState.QUEUED).update(
        state=PlanRunState.RUNNING, heard_at=clock()
    )
    if not claimed:  # stopped before it began, or a second worker got the same message
        return
    run = PlanRun.objects.select_related("shop").get(pk=run_id)
    try:
        proposal = _Search(run, clock).proposal()
        problem, state = "", PlanRunState.DONE
    except (ProblemError, Refused) as error:
        proposal, problem, state = {}, str(error), PlanRunState.FAILED
    except Exception:
        logger.exception("plan run %s failed", run_id)
        proposal, state = {}, PlanRunState.FAILED
        problem = _("The search broke off; it is written in the log.")
    now = clock()
    run.refresh_from_db(fields=["stop_asked"])
    if state == PlanRunState.DONE and run.stop_asked:
        state = PlanRunState.STOPPED
    PlanRun.objects.filter(pk=run_id, state=PlanRunState.RUNNING).update(
        state=state, ended_at=now, heard_at=now, proposal=proposal, problem=problem[:300]
    )


class _Search:
    """One search: it reads the calendar, solves, and tells at most twice a second."""

    def __init__(self, run: PlanRun, clock: Callable[[], datetime]) -> None:
        self.run, self.clock = run, clock
        self.read: WeekPlan = weekplan_load(shop=run.shop, as_of=run.as_of)
        self.told = 0.0
        self.stopped = False
        self.effort = Effort(seconds=float(run.most_seconds), seed=SEED, workers=1)

    def proposal(self) -> dict[str, Any]:
        damage = self.read.damage
        self._write(before=damage.plan.objective, best=damage.plan.objective)
        if not self.read.lines:
            raise Refused(_("Nothing is booked, so there is nothing to plan."))
        answers = self._mend() if self.run.kind == PlanRunKind.MEND else [self._improve()]
        hit = [self.read.lines[key].job.number for key in damage.hit if key in self.read.lines]
        return {"answers": answers, "hit": hit}

    def _improve(self) -> dict[str, Any]:
        damage = self.read.damage
        start = None if damage.hit else damage.plan
        plan = solve(
            self.read.week,
            self.effort,
            clock=time.monotonic,
            start=start,
            progress=self._tell,
            stop=self._stop,
        )
        self._write(best=plan.objective, bound=plan.bound, seconds=plan.seconds)
        return answer_of(self.read, plan, key="week")

    def _mend(self) -> list[dict[str, Any]]:
        share = FIRST_SHARE if self.run.most_moved else 1.0
        effort = replace(self.effort, seconds=share * self.effort.seconds)
        first = nobody_else_moves(self.read.damage, effort, clock=time.monotonic)
        answers = [answer_of(self.read, first.plan, key="nobody", reasons=first.reasons)]
        self._write(best=first.plan.objective, bound=first.plan.bound, seconds=first.plan.seconds)
        if self.run.most_moved and self.read.damage.hit and not self._stop():
            second = few_move(
                self.read.damage,
                first,
                self.run.most_moved,
                replace(effort, seconds=max(1.0, self.effort.seconds - first.plan.seconds)),
                clock=time.monotonic,
                progress=self._tell,
                stop=self._stop,
            )
            if second.found and _better(second.plan, first.plan):
                self._write(best=second.plan.objective, seconds=second.plan.seconds)
                answers.append(answer_of(self.read, second.plan, key="few"))
        return answers

    def _tell(self, progress: Progress) -> None:
        if time.monotonic() - self.told < TELL_SECONDS:
            return
        facts: dict[str, Any] = {"seconds": progress.seconds, "phase": progress.phase}
        if progress.best is not None:
            facts["best"] = progress.best
        if progress.bound > 0:
            facts["bound"] = progress.bound
        self._write(**facts)

    def _write(self, **facts: Any) -> None:
        self.told = time.monotonic()
        PlanRun.objects.filter(pk=self.run.pk).update(heard_at=self.clock(), **facts)
        self.stopped = (
            PlanRun.objects.filter(
                pk=self.run.pk, stop_asked=False, state=PlanRunState.RUNNING
            ).exists()
            is False
        )

    def _stop(self) -> bool:
        """Whether somebody asked to stop; the row is looked at twice a second at most."""
        if not self.stopped and time.monotonic() - self.told >= TELL_SECONDS:
            self._write()
        return self.stopped


def _better(plan: Plan, other: Plan) -> bool:
    if other.status in (PlanStatus.IMPOSSIBLE, PlanStatus.NONE_FOUND):
        return True
    assert plan.objective is not None
    assert other.objective is not None
    return plan.objective < other.objective - 1e-6
