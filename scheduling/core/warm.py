"""A plan taken back into a draft, so that a search can go on from it."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from scheduling.core.fit import Fit, FitOp, FitStatus, Wait
from scheduling.core.freeindex import Resources
from scheduling.core.insertion import LAMPS, Draft
from scheduling.core.problem import STAY, Job, Plan, Week
from scheduling.core.readout import holds_of


def draft_of(week: Week, plan: Plan, jobs: Iterable[str] | None = None) -> Draft:
    """Return a draft with jobs placed as a valid plan of the week has them.

    Parameters
    ----------
    jobs : iterable of str, optional
        Which jobs to place; all of them if not given.
    """
    draft = Draft(week)
    wanted = None if jobs is None else set(jobs)
    for job in week.jobs:
        if wanted is None or job.id in wanted:
            draft.put(job.id, fit_of(job, plan, draft.index.resources))
    return draft


def fit_of(job: Job, plan: Plan, resources: Resources) -> Fit:
    """Return one job of a plan as a fit, with the identifiers of an index."""
    ops = tuple(_fit_op(job, number, plan) for number in range(len(job.ops)))
    standing = [Wait(ops[0].spot, ops[0].start, ops[0].start)]
    for before, here, wait in zip(ops, ops[1:], plan.waits.get(job.id, ()), strict=False):
        where = before.spot if wait == STAY else f"spot {wait}"
        standing.append(Wait(where, before.end, here.start))
    path = [ops[0].spot]
    for wait_at, op in zip(standing[1:], ops[1:], strict=True):
        path += [wait_at.spot, op.spot]
    return Fit(
        status=FitStatus.FOUND,
        start=ops[0].start,
        end=ops[-1].end,
        ops=ops,
        waits=tuple(standing[1:]),
        moves=sum(a != b for a, b in pairwise(path)),
        holds=holds_of(resources, ops, standing, ops[-1].end),
    )


def _fit_op(job: Job, number: int, plan: Plan) -> FitOp:
    op = job.ops[number]
    placed = plan.ops[op.id]
    return FitOp(
        op_id=op.id,
        start=placed.start,
        end=placed.end,
        spot=f"spot {placed.spot}",
        crew=tuple(f"crew {one}" for one in placed.crew),
        lamps=(LAMPS,) * op.modes[placed.mode].lamps,
        mode=placed.mode,
        pieces=placed.pieces,
    )
