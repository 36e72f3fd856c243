"""What happens on the floor: the vehicle comes, is worked on, cures, and leaves."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from scheduling.models import Cure, Hold
from scheduling.services.climate import ClimateLogged, climate_log, climate_reasons_for
from scheduling.services.cures import (
    cure_forecast,
    cure_refresh,
    cure_start,
    job_settle,
    lamps_end,
)
from scheduling.services.holds import job_holds_release, operation_holds_release
from scheduling.services.recoat import recoat_window_tell
from scheduling.services.reminder_causes import (
    balance_reminder_write,
    recoat_reminders_withdraw,
)
from scheduling.services.reminder_rows import VISIT, aftercare_reminders_write
from scheduling.services.reminder_write import reminders_withdraw
from scheduling.services.when import moment_text
from shop.models import (
    Job,
    JobState,
    Member,
    Operation,
    OperationKind,
    OperationState,
    Role,
)
from shop.refusals import Forbidden, Problem, Refused
from shop.services.job_state import job_move, job_note
from shop.services.work import operation_finish, operation_pause, operation_start

__all__ = [
    "ClimateLogged",
    "climate_log",
    "job_check_in",
    "job_close",
    "job_hand_over",
    "job_no_show",
    "work_finish",
    "work_pause",
    "work_start",
]


@transaction.atomic
def job_check_in(*, job: Job, member: Member, now: datetime) -> Job:
    """Take in the vehicle of a booked job.

    Raises
    ------
    Refused
        The job is not booked, or the vehicle is here already.
    """
    job = _locked(job)
    job_move(job=job, to=JobState.ON_SITE, now=now, member=member)
    reminders_withdraw(
        job=job,
        purposes=VISIT,
        why=_("The vehicle is here"),
    )
    return job


@transaction.atomic
def work_start(*, operation: Operation, member: Member, now: datetime) -> Operation:
    """Start, resume or join an operation; see :func:`shop.services.work.operation_start`.

    Raises
    ------
    Refused
        As there; and an operation that runs unattended starts by itself.
    """
    _cure_up_to_date(operation.job_id, now)
    if operation.kind == OperationKind.CURE:
        raise Refused(_("The cure starts by itself when the last coat is finished."))
    started = operation_start(operation=operation, member=member, now=now)
    if started.kind == OperationKind.COATING:
        recoat_reminders_withdraw(operation=started)
        _climate_noted(started, member, now)
    # Work after the cure: the job is in work again until that is done.
    if started.job.state == JobState.CURING:
        job_move(job=started.job, to=JobState.IN_WORK, now=now, member=member, why=started.name)
    return started


@transaction.atomic
def work_pause(*, operation: Operation, member: Member, now: datetime) -> Operation:
    """Pause an operation; see :func:`shop.services.work.operation_pause`."""
    return operation_pause(operation=operation, member=member, now=now)


@transaction.atomic
def work_finish(*, operation: Operation, member: Member, now: datetime) -> Operation:
    """Finish an operation, give back what it still held, and let the job follow.

    The last coat starts the cure; the last operation of all makes the job ready.

    Raises
    ------
    Refused
        It was never started, is done already, or is the cure, which ends by itself.
    """
    if operation.kind == OperationKind.CURE:
        raise Refused(_("The cure ends by itself; log the climate of the bay to follow it."))
    done = operation_finish(operation=operation, member=member, now=now)
    operation_holds_release(operation=done, now=now)
    recoat_window_tell(done=done, now=now)
    if _is_last_coat(done):
        cure_start(job=done.job, coat=done, now=now, member=member)
    job_settle(job=done.job, now=now, member=member, why=_("%s done") % done.name)
    return done


@transaction.atomic
def job_hand_over(*, job: Job, member: Member, now: datetime, reason: str = "") -> Job:
    """Give the vehicle back, free what it held, write the messages of aftercare.

    Raises
    ------
    Refused
        Work is not done; or the cure does not allow it yet and no owner gave a reason.
    Forbidden
        The cure does not allow it yet and the person is not an owner.
    """
    _cure_up_to_date(job.pk, now)
    job = _locked(job)
    cure = Cure.objects.filter(job=job).select_related("operation").first()
    early = cure is not None and cure.forecast_handover_at > now
    if cure is not None and early and job.state in (JobState.CURING, JobState.READY):
        _refuse_early(job, cure, member, now, reason)
        _cure_cut_short(job, cure, member, now, reason)
    event = job_move(job=job, to=JobState.HANDED_OVER, now=now, member=member, why=reason)
    job_holds_release(job=job, now=now)
    reminders_withdraw(job=job, why=_("The vehicle was handed over"))
    if cure is not None:
        cure.job = job
        wash_from = cure_forecast(cure, now).wash_from
        aftercare_reminders_write(job=job, event=event, wash_from=wash_from, now=now)
    balance_reminder_write(job=job, event=event, now=now)
    return job


@transaction.atomic
def job_close(*, job: Job, member: Member, now: datetime) -> Job:
    """Close a job whose vehicle was handed over: nothing more is to be done or paid.

    Raises
    ------
    Refused
        The vehicle was not handed over.
    """
    job = _locked(job)
    job_move(job=job, to=JobState.CLOSED, now=now, member=member)
    return job


@transaction.atomic
def job_no_show(*, job: Job, member: Member, now: datetime) -> Job:
    """Record that a booked vehicle did not come, and give back what it held.

    Raises
    ------
    Refused
        The job is not booked, or its time has not come yet.
    """
    job = _locked(job)
    if job.state == JobState.BOOKED and job.arrives_at is not None and now < job.arrives_at:
        raise Refused(
            _("%(number)s is expected %(when)s; until then it is not a no-show.")
            % {"number": job.number, "when": moment_text(job.arrives_at, job.shop)}
        )
    job_move(job=job, to=JobState.NO_SHOW, now=now, member=member)
    Hold.objects.filter(job=job).delete()
    Operation.objects.filter(job=job).update(planned_start=None, planned_end=None)
    reminders_withdraw(job=job, why=_("The vehicle did not come"))
    return job


def _locked(job: Job) -> Job:
    """Lock the job's row and return the caller's instance as it is now in the database."""
    Job.objects.select_for_update().get(pk=job.pk)
    job.refresh_from_db()
    return job


def _cure_up_to_date(job_id: int, now: datetime) -> None:
    """Look at the cure clock before deciding anything that hangs on it."""
    cure = (
        Cure.objects.select_related("job__shop", "job__customer")
        .filter(job_id=job_id, job__state=JobState.CURING)
        .first()
    )
    if cure is not None:
        cure_refresh(cure=cure, now=now)


def _climate_noted(coat: Operation, member: Member, now: datetime) -> None:
    """A coat begun outside the product's limits stands in the story, with who and why not."""
    reasons = climate_reasons_for(job=coat.job, now=now)
    if reasons:
        why = _("%(what)s begun although %(why)s") % {"what": coat.name, "why": "; ".join(reasons)}
        job_note(job=coat.job, kind="climate", now=now, member=member, why=why[:300])


def _is_last_coat(operation: Operation) -> bool:
    if operation.kind != OperationKind.COATING:
        return False
    coats = Operation.objects.filter(job_id=operation.job_id, kind=OperationKind.COATING)
    # A job has one cure: recoating after a touch-up does not start a second.
    return (
        not coats.exclude(state=OperationState.DONE).exists()
        and not Cure.objects.filter(job_id=operation.job_id).exists()
    )


def _refuse_early(job: Job, cure: Cure, member: Member, now: datetime, reason: str) -> None:
    facts = {
        "number": job.number,
        "percent": int(100 * min(1.0, cure_forecast(cure, now).progress)),
        "when": moment_text(cure.forecast_handover_at, job.shop),
    }
    said = _("%(number)s is still curing (%(percent)s %%), forecast until %(when)s.") % facts
    if member.role != Role.OWNER:
        raise Forbidden(f"{said} " + _("Only an owner may hand it over before, with a reason."))
    if not reason.strip():
        raise Refused(Problem(f"{said} " + _("Say why it leaves before."), field="reason"))


def _cure_cut_short(job: Job, cure: Cure, member: Member, now: datetime, reason: str) -> None:
    lamps_end(cure=cure, now=now)
    operation = cure.operation
    if operation.kind == OperationKind.CURE and operation.state == OperationState.RUNNING:
        operation.state = OperationState.DONE
        operation.finished_at = now
        operation.save(update_fields=["state", "finished_at"])
    if job.state == JobState.CURING:
        percent = round(100 * min(1.0, cure_forecast(cure, now).progress))
        job_move(
            job=job,
            to=JobState.READY,
            now=now,
            member=member,
            why=reason,
            details={
                "cure_percent": percent,
                "cure_forecast_until": cure.forecast_handover_at.isoformat(),
            },
        )
