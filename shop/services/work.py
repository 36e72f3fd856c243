"""The work log: start, pause and finish an operation; take material for it."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from shop.models import (
    Attendance,
    Consumable,
    Job,
    JobState,
    MaterialUse,
    Member,
    Operation,
    OperationState,
    WorkEntry,
)
from shop.refusals import Conflict, Problem, Refused
from shop.services.job_state import job_move
from shop.signals import stock_taken

_STARTABLE = (OperationState.PLANNED, OperationState.PAUSED)


@transaction.atomic
def operation_start(*, operation: Operation, member: Member, now: datetime) -> Operation:
    """Start, resume or join an operation.

    Race: two tablets start it at once. The operation's row is locked first, and
    a person's second open entry is refused by ``work_one_open_entry_a_person``.

    Raises
    ------
    Refused
        The vehicle is not here, an earlier operation is open, the operation is
        done, or the person is already working on something.
    """
    operation = _locked(operation)
    job = operation.job
    if job.state not in (JobState.ON_SITE, JobState.IN_WORK, JobState.CURING):
        raise Refused(
            _("%(job)s is %(state)s; check the vehicle in before work starts.")
            % {"job": job.number, "state": job.get_state_display().lower()}
        )
    if operation.state == OperationState.DONE:
        raise Refused(_("%s is already done.") % operation.name)
    _refuse_out_of_order(operation)
    if operation.attendance != Attendance.UNATTENDED:
        _open_entry(operation, member, now)
    if operation.state in _STARTABLE:
        operation.state = OperationState.RUNNING
        operation.started_at = operation.started_at or now
        operation.save(update_fields=["state", "started_at"])
    if job.state == JobState.ON_SITE:
        job_move(job=job, to=JobState.IN_WORK, now=now, member=member, why=operation.name)
    return operation


@transaction.atomic
def operation_pause(*, operation: Operation, member: Member, now: datetime) -> Operation:
    """Close everybody's open stretch on the operation; it can be started again.

    Raises
    ------
    Refused
        It is not running, or may not stand still before it is done.
    """
    operation = _locked(operation)
    if operation.state != OperationState.RUNNING:
        raise Refused(_("%s is not running, so it cannot pause.") % operation.name)
    if operation.attendance != Attendance.PAUSABLE:
        raise Refused(_("%s may not pause: finish it once it is started.") % operation.name)
    operation.work.filter(ended_at__isnull=True).update(ended_at=now)
    operation.state = OperationState.PAUSED
    operation.save(update_fields=["state"])
    return operation


@transaction.atomic
def operation_finish(*, operation: Operation, member: Member, now: datetime) -> Operation:
    """Close the operation and every open stretch of work on it.

    Raises
    ------
    Refused
        It was never started, or is done already.
    """
    operation = _locked(operation)
    if operation.state not in (OperationState.RUNNING, OperationState.PAUSED):
        raise Refused(
            _("%(name)s is %(state)s; only work that was started can be finished.")
            % {"name": operation.name, "state": operation.get_state_display().lower()}
        )
    operation.work.filter(ended_at__isnull=True).update(ended_at=now)
    operation.state = OperationState.DONE
    operation.finished_at = now
    operation.save(update_fields=["state", "finished_at"])
    return operation


@transaction.atomic
def material_use(
    *,
    job: Job,
    consumable: Consumable,
    quantity: Decimal,
    member: Member,
    now: datetime,
    operation: Operation | None = None,
) -> MaterialUse:
    """Log material taken for ``job`` at today's unit cost and lower the stock by it.

    Stock may go below zero: the bottle was on the shelf whatever the count says,
    and the screen shows the count as wrong.

    Raises
    ------
    Refused
        The quantity is not above zero, or the consumable is another shop's.
    """
    if not quantity.is_finite() or quantity <= 0:
        raise Refused(
            Problem(
                _("%s was used; write an amount above zero.") % quantity,
                field="quantity",
            )
        )
    if consumable.shop_id != job.shop_id:
        raise Refused(Problem(_("This item belongs to another shop."), field="consumable"))
    Consumable.objects.filter(pk=consumable.pk).update(on_hand=F("on_hand") - quantity)
    use = MaterialUse.objects.create(
        job=job,
        operation=operation,
        consumable=consumable,
        quantity=quantity,
        unit_cost=consumable.unit_cost,
        at=now,
        member=member,
    )
    left = Consumable.objects.get(pk=consumable.pk)
    stock_taken.send(sender=Consumable, consumable=left, now=now)
    return use


def _locked(operation: Operation) -> Operation:
    """The operation, its row locked. The job is locked first, always in that order."""
    job = Job.objects.select_for_update().get(pk=operation.job_id)
    locked = Operation.objects.select_for_update().get(pk=operation.pk)
    locked.job = job
    return locked


def _refuse_out_of_order(operation: Operation) -> None:
    before = (
        operation.job.operations.filter(sequence__lt=operation.sequence)
        .exclude(state=OperationState.DONE)
        .first()
    )
    if before is not None:
        raise Refused(
            _("%(before)s comes first and is %(state)s.")
            % {"before": before.name, "state": before.get_state_display().lower()}
        )


def _open_entry(operation: Operation, member: Member, now: datetime) -> None:
    running = (
        WorkEntry.objects.select_related("operation__job")
        .filter(member=member, ended_at__isnull=True)
        .first()
    )
    if running is not None:
        raise Conflict(
            _("%(member)s is working on %(name)s of %(job)s; pause or finish that first.")
            % {
                "member": member.name,
                "name": running.operation.name,
                "job": running.operation.job.number,
            }
        )
    WorkEntry.objects.create(operation=operation, member=member, started_at=now)
