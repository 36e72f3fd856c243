"""Moving a job from one state to the next."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from shop.models import Job, JobEvent, JobState, Member
from shop.models.jobs import ALLOWED_MOVES
from shop.refusals import Conflict, Refused


@transaction.atomic
def job_move(
    *,
    job: Job,
    to: str,
    now: datetime,
    member: Member | None,
    why: str = "",
    details: dict[str, Any] | None = None,
) -> JobEvent:
    """Move ``job`` to state ``to`` and record who, when and why.

    Race: two people change one job. The update names the state it was read in
    and counts its rows, so the second is refused instead of overwriting.

    Raises
    ------
    Refused
        The move is not among those allowed from the job's state.
    Conflict
        The job changed since it was read.
    """
    before = job.state
    if to not in ALLOWED_MOVES[before]:
        raise Refused(
            _("%(number)s is %(before)s and cannot become %(to)s.")
            % {
                "number": job.number,
                "before": JobState(before).label.lower(),
                "to": JobState(to).label.lower(),
            }
        )
    changes: dict[str, Any] = {"state": to}
    if to == JobState.ON_SITE:
        changes["arrived_at"] = now
    if to == JobState.HANDED_OVER:
        changes["handed_over_at"] = now
    if Job.objects.filter(pk=job.pk, state=before).update(**changes) != 1:
        raise Conflict(_("%s was changed by somebody else; look at it again.") % job.number)
    for name, value in changes.items():
        setattr(job, name, value)
    return JobEvent.objects.create(
        job=job,
        kind="state",
        from_state=before,
        to_state=to,
        at=now,
        member=member,
        why=why,
        details=details or {},
    )


def job_note(
    *,
    job: Job,
    kind: str,
    now: datetime,
    member: Member | None,
    why: str = "",
    details: dict[str, Any] | None = None,
) -> JobEvent:
    """Record something about a job that leaves its state alone."""
    return JobEvent.objects.create(
        job=job, kind=kind, at=now, member=member, why=why, details=details or {}
    )


def whose(member: Member | None) -> dict[str, str]:
    """For the details of an event that people cause: without a member it was the customer.

    What happens by the clock has no member either, and no such mark.
    """
    return {} if member is not None else {"by": "customer"}
