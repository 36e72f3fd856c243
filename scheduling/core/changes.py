"""What counts as a change to a plan that people already know."""

from __future__ import annotations

from collections.abc import Mapping

from scheduling.core.fit import Fit, FitOp
from scheduling.core.problem import Frozen, Job


def changed(job: Job, fit: Fit, preferred: Mapping[str, Frozen]) -> bool:
    """Return whether a placed job is one change.

    Parameters
    ----------
    job : Job
        The job; ``told`` is the pick-up minute its customer was told.
    fit : Fit
        Where it stands, with the identifiers of an index (``"spot B1"``, ``"crew T1"``).
    preferred : mapping of str to Frozen
        Placements to be kept if that is worth it, by operation, with the identifiers of a week.

    Returns
    -------
    bool
        It ends later than told, or one of its preferred placements is not kept. Both together
        are still one change: one customer is called, once.
    """
    if job.told is not None and fit.end > job.told:
        return True
    return moved(fit, preferred)


def moved(fit: Fit, preferred: Mapping[str, Frozen]) -> bool:
    """Return whether one of the preferred placements is not kept."""
    return any(not keeps(preferred[op.op_id], op) for op in fit.ops if op.op_id in preferred)


def keeps(kept: Frozen, op: FitOp) -> bool:
    """Return whether a placed operation is as it was to be kept."""
    return (
        kept.start in (None, op.start)
        and kept.end in (None, op.end)
        and (kept.spot is None or op.spot == f"spot {kept.spot}")
        and (kept.crew is None or {f"crew {one}" for one in kept.crew} == set(op.crew))
    )
