"""Alarms of a bay's climate: told at once to who coats, withdrawn when it is right again."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Final

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from scheduling.models import ClimateReading, Hold, Reminder, ReminderPurpose, ReminderState
from scheduling.services.reminder_write import Cause, owners_of, reminder_write
from shop.models import Job, Member, Operation, OperationKind, OperationState

_AHEAD: Final = timedelta(hours=12)
_GOOD_FOR: Final = timedelta(hours=2)
"""After that the reading says nothing any more."""


def climate_alarm_set(*, reading: ClimateReading, reasons: Sequence[str]) -> int:
    """Tell of a climate that breaks the limits of a coat in hand or soon in this bay.

    One for each bay and hour and person; with no ``reasons`` those that wait are withdrawn.
    Returns how many people are told.
    """
    bay, at = reading.resource, reading.at
    if not reasons:
        _waiting(reading).update(
            state=ReminderState.WITHDRAWN, why=_("The climate is within the limits again")
        )
        return 0
    coat = _coat_here(bay.pk, at)
    if coat is None:
        return 0
    people = _who(coat)
    for member in people:
        reminder_write(
            purpose=ReminderPurpose.CLIMATE_ALARM,
            reader=member,
            cause=Cause(
                key=f"{bay.pk}.{member.pk}.{at:%Y%m%d%H}",
                why=reasons[0],
                job=coat.job,
                facts={"bay": bay.name, "operation": coat.name, "what": "; ".join(reasons)},
            ),
            due_at=at,
            expires_at=at + _GOOD_FOR,
            now=at,
        )
    return len(people)


def _waiting(reading: ClimateReading) -> QuerySet[Reminder]:
    return Reminder.objects.filter(
        shop=reading.shop_id,
        purpose=ReminderPurpose.CLIMATE_ALARM,
        key__startswith=f"{ReminderPurpose.CLIMATE_ALARM}/{reading.resource_id}.",
        state=ReminderState.DUE,
    )


def _coat_here(bay_id: int, at: datetime) -> Operation | None:
    """The coat that is in hand in this bay, or planned within the next hours."""
    jobs = Hold.objects.filter(resource=bay_id, start__lt=at + _AHEAD, end__gt=at).values("job")
    coats = Operation.objects.filter(
        job__in=jobs, kind=OperationKind.COATING, planned_start__lt=at + _AHEAD
    ).exclude(state=OperationState.DONE)
    return coats.select_related("job__shop", "job__customer").order_by("planned_start").first()


def _who(coat: Operation) -> list[Member]:
    """Who is at work on it, else who is planned for it, else the owners."""
    at_work = Member.objects.filter(
        work__operation=coat, work__ended_at__isnull=True, active=True
    ).select_related("user", "shop")
    planned = Member.objects.filter(resource__holds__operation=coat, active=True).select_related(
        "user", "shop"
    )
    job: Job = coat.job
    return list(at_work.distinct()) or list(planned.distinct()) or owners_of(job.shop)
