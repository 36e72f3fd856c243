"""A finished plan as fits, so that a search can go on from it."""

from __future__ import annotations

from collections.abc import Iterable

from scheduling.core.check import job_moves
from scheduling.core.fit import Fit, FitOp, FitStatus, Wait
from scheduling.core.freeindex import Resources
from scheduling.core.insertion import LAMPS, Draft
from scheduling.core.problem import STAY, Job, Plan, Week
from scheduling.core.readout import holds_of


def fits_of(week: Week, plan: Plan, resources: Resources) -> dict[str, Fit]:
    """Return the jobs of a plan that passes the checker as fits, by job."""
    return {job.id: fit_of(job, plan, resources) for job in week.jobs}


def draft_of(week: Week, plan: Plan, jobs: Iterable[str]) -> Draft:
    """Return a draft in which some jobs are placed as a plan has them, and nothing else is."""
    draft = Draft(week)
    for job_id in jobs:
        draft.put(job_id, fit_of(draft.jobs[job_id], plan, draft.index.resources))
    return draft


def fit_of(job: Job, plan: Plan, resources: Resources) -> Fit:
    """Return one job of a plan as a fit, with the identifiers of an index."""
    placed = [plan.ops[op.id] for op in job.ops]
    where = plan.waits.get(job.id, ())
    ops = tuple(
        FitOp(
            op_id=op.id,
            start=here.start,
            end=here.end,
            spot=f"spot {here.spot}",
            crew=tuple(f"crew {one}" for one in here.crew),
            lamps=(LAMPS,) * op.modes[here.mode].lamps,
            mode=here.mode,
            pieces=here.pieces,
        )
        for op, here in zip(job.ops, placed, strict=True)
    )
    waits = tuple(
        Wait(before.spot if wait == STAY else f"spot {wait}", before.end, after.start)
        for wait, before, after in zip(where, ops, ops[1:], strict=False)
    )
    standing = [Wait(ops[0].spot, ops[0].start, ops[0].start), *waits]
    return Fit(
        FitStatus.FOUND,
        start=ops[0].start,
        end=ops[-1].end,
        ops=ops,
        waits=waits,
        moves=job_moves([here.spot for here in placed], where),
        holds=holds_of(resources, ops, standing, ops[-1].end),
    )
