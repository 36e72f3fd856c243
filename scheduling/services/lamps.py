"""An infrared lamp on a curing panel: its time is recorded, and the cure follows."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from scheduling.models import Cure, LampRun
from scheduling.services.cures import cure_refresh
from scheduling.services.horizon import policy_of
from shop.models import Job, JobState, Member, Operation
from shop.refusals import Conflict, Problem, Refused


@transaction.atomic
def lamp_on(
    *, operation: Operation, member: Member, now: datetime, panel_c: float | None = None
) -> LampRun:
    """Record that a lamp warms the panel from ``now`` on.

    Parameters
    ----------
    panel_c
        Measured on the panel under the lamp, °C; the shop's assumption where left out. The
        product's data sheet says how warm it may get.

    Raises
    ------
    Refused
        The vehicle is not curing, or no panel can have that temperature.
    Conflict
        A lamp is on already.
    """
    cure = _curing(operation, now)
    if panel_c is not None and not 0 <= panel_c <= 150:
        raise Refused(
            Problem(_("%s °C; a panel under a lamp has 0 to 150 °C.") % panel_c, "panel_c")
        )
    if LampRun.objects.filter(cure=cure, ended_at__isnull=True).exists():
        raise Conflict(_("A lamp is on already; switch it off first."))
    warm_c = policy_of(cure.job.shop).lamp_panel_c if panel_c is None else panel_c
    return LampRun.objects.create(cure=cure, member=member, started_at=now, panel_c=warm_c)


@transaction.atomic
def lamp_off(*, operation: Operation, member: Member, now: datetime) -> LampRun:
    """Record that the lamp is off; the end of the cure moves to what its warmth has brought.

    Raises
    ------
    Refused
        The vehicle is not curing, or no lamp is on.
    """
    cure = _curing(operation, now)
    run = LampRun.objects.filter(cure=cure, ended_at__isnull=True).first()
    if run is None:
        raise Refused(_("No lamp is on."))
    run.ended_at = max(now, run.started_at)
    run.save(update_fields=["ended_at"])
    cure_refresh(cure=cure, now=now)
    return run


def _curing(operation: Operation, now: datetime) -> Cure:
    """The running cure of an operation's job, its row locked and brought up to date."""
    job = Job.objects.select_for_update().get(pk=operation.job_id)
    cure = Cure.objects.select_related("job__shop", "job__customer").filter(job=job).first()
    if cure is not None and job.state == JobState.CURING:
        cure_refresh(cure=cure, now=now)
        job.refresh_from_db()
    if cure is None or job.state != JobState.CURING:
        raise Refused(_("%s is not curing; a lamp is recorded while it cures.") % job.number)
    return cure
