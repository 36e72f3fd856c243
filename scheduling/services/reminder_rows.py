"""Write, move and withdraw the rows of messages, in the transaction of what causes them.

Nothing is sent here; see :mod:`scheduling.services.reminders`.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, time, timedelta

from django.utils.translation import gettext as _

from scheduling.core.worktime import instant_of
from scheduling.models import Cure, Reminder, ReminderPurpose, ReminderState
from scheduling.services.horizon import policy_of
from scheduling.services.purposes import PURPOSES, channel_for
from scheduling.services.quiet import polite
from scheduling.services.when import moment_text
from shop.models import Job, JobEvent
from shop.services.job_state import job_note

_VISIT = (ReminderPurpose.CONFIRM, ReminderPurpose.DAY_BEFORE)
_WHY_LENGTH = 200


def booking_reminders_write(*, job: Job, event: JobEvent, now: datetime) -> None:
    """Write the confirmation (due now) and the message of the evening before."""
    assert job.arrives_at is not None
    arrives = moment_text(job.arrives_at, job.shop)
    why = _("Booked for %s") % arrives
    _write(
        job=job,
        purpose=ReminderPurpose.CONFIRM,
        cause=event.pk,
        due_at=now,
        expires_at=job.arrives_at,
        why=why,
        now=now,
    )
    due_at, expires_at = _day_before(job)
    if due_at > now:
        _write(
            job=job,
            purpose=ReminderPurpose.DAY_BEFORE,
            cause=event.pk,
            due_at=due_at,
            expires_at=expires_at,
            why=why,
            now=now,
        )


def booking_reminders_move(*, job: Job, event: JobEvent, now: datetime) -> None:
    """Withdraw what the old times caused and has not gone out, and write it for the new ones.

    What was sent stays as it was: the customer gets a new confirmation.
    """
    assert job.arrives_at is not None
    why = _("Moved to %s") % moment_text(job.arrives_at, job.shop)
    reminders_withdraw(job=job, purposes=_VISIT, why=why)
    booking_reminders_write(job=job, event=event, now=now)


def reminders_withdraw(*, job: Job, why: str, purposes: Iterable[str] = ()) -> int:
    """Withdraw a job's messages that have not gone out; all purposes where none is named.

    Race: a sender claims the row in this moment. Both updates name the state they
    saw, so either it is withdrawn and never sent, or sent and not withdrawn.
    """
    open_states = (ReminderState.DUE, ReminderState.FAILED)
    rows = Reminder.objects.filter(job=job, state__in=open_states)
    chosen = list(purposes)
    if chosen:
        rows = rows.filter(purpose__in=chosen)
    return rows.update(state=ReminderState.WITHDRAWN, why=why[:_WHY_LENGTH])


def cure_reminder_set(*, cure: Cure, now: datetime) -> None:
    """Write the message of the end of the cure, or move it to the present forecast."""
    job = cure.job
    due_at = polite(cure.forecast_handover_at, job.customer, job.shop)
    grace = PURPOSES[ReminderPurpose.CURE_DONE].grace
    assert grace is not None
    key = _key(ReminderPurpose.CURE_DONE, cure.pk)
    why = _("Cure forecast to end %s") % moment_text(cure.forecast_handover_at, job.shop)
    there = Reminder.objects.filter(shop=job.shop, key=key)
    if there.filter(state=ReminderState.DUE).update(
        due_at=due_at, expires_at=due_at + grace, why=why
    ):
        return
    _write(
        job=job,
        purpose=ReminderPurpose.CURE_DONE,
        cause=cure.pk,
        due_at=cure.forecast_handover_at,
        expires_at=None,
        why=why,
        now=now,
    )


def ready_reminder_write(*, job: Job, event: JobEvent, now: datetime) -> None:
    """Write that the vehicle can be collected; it says the end of the cure as well."""
    reminders_withdraw(
        job=job,
        purposes=[ReminderPurpose.CURE_DONE],
        why=_("The message that the vehicle is ready says it"),
    )
    _write(
        job=job,
        purpose=ReminderPurpose.READY,
        cause=event.pk,
        due_at=now,
        expires_at=None,
        why=_("All work done"),
        now=now,
    )


def aftercare_reminders_write(
    *, job: Job, event: JobEvent, wash_from: datetime, now: datetime
) -> None:
    """Write first wash and first inspection of a coated vehicle that was handed over.

    Parameters
    ----------
    wash_from
        When the coating stands its first wash.
    """
    _write(
        job=job,
        purpose=ReminderPurpose.FIRST_WASH,
        cause=event.pk,
        due_at=max(wash_from, now),
        expires_at=None,
        why=_("Coating stands its first wash"),
        now=now,
    )
    days = policy_of(job.shop).first_inspection_days
    _write(
        job=job,
        purpose=ReminderPurpose.FIRST_INSPECTION,
        cause=event.pk,
        due_at=now + timedelta(days=days),
        expires_at=None,
        why=_("%s days after the hand-over") % days,
        now=now,
    )


def _day_before(job: Job) -> tuple[datetime, datetime]:
    """Due time and expiry of the message of the evening before, on the shop's clock.

    It is not said on the day itself: it expires at the midnight that begins it.
    """
    assert job.arrives_at is not None
    zone = job.shop.tz
    day = job.arrives_at.astimezone(zone).date()
    evening = policy_of(job.shop).day_before_at
    return instant_of(day - timedelta(days=1), evening, zone), instant_of(day, time(), zone)


def _write(
    *,
    job: Job,
    purpose: str,
    cause: int,
    due_at: datetime,
    expires_at: datetime | None,
    why: str,
    now: datetime,
) -> None:
    """Write one row, unless nobody agreed to it or it could only come too late.

    A job's own events say which message was not written and why.
    """
    due_at = polite(due_at, job.customer, job.shop)
    grace = PURPOSES[purpose].grace
    if grace is not None:
        expires_at = due_at + grace
    label = ReminderPurpose(purpose).label
    channel = channel_for(job.customer, purpose)
    if channel is None:
        _note(job, now, _("No “%s” message: the customer has not agreed to one.") % label)
        return
    if expires_at is not None and due_at >= expires_at:
        _note(job, now, _("No “%s” message: it could only come too late.") % label)
        return
    # Idempotent: the same cause never writes a second row.
    Reminder.objects.get_or_create(
        shop=job.shop,
        key=_key(purpose, cause),
        defaults={
            "job": job,
            "customer": job.customer,
            "purpose": purpose,
            "channel": channel,
            "due_at": due_at,
            "expires_at": expires_at,
            "why": why[:_WHY_LENGTH],
        },
    )


def _key(purpose: str, cause: int) -> str:
    return f"{purpose}/{cause}"


def _note(job: Job, now: datetime, why: str) -> None:
    job_note(job=job, kind="reminder", now=now, member=None, why=why)
