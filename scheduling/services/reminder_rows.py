"""Messages of a visit, its cure and the time after, in the transaction of what causes them.

Nothing is sent here; see :mod:`scheduling.services.reminders`.
"""

from __future__ import annotations

from datetime import datetime, time, timedelta

from django.conf import settings
from django.utils.translation import gettext as _

from scheduling.core.worktime import instant_of
from scheduling.models import Cure, Reminder, ReminderPurpose, ReminderState
from scheduling.services.horizon import policy_of
from scheduling.services.purposes import PURPOSES
from scheduling.services.quiet import polite
from scheduling.services.reminder_write import (
    Cause,
    key_of,
    reminder_write,
    reminders_withdraw,
)
from scheduling.services.visit_feeds import visit_feed_token
from scheduling.services.when import moment_text
from shop.models import Job, JobEvent
from shop.months import months_later

VISIT = (ReminderPurpose.CONFIRM, ReminderPurpose.DAY_BEFORE, ReminderPurpose.DROP_OFF)
_MONTHS_A_YEAR = 12


def booking_reminders_write(*, job: Job, event: JobEvent, now: datetime) -> None:
    """Write the confirmation (due now), the message of the evening before and of the day."""
    assert job.arrives_at is not None
    why = _("Booked for %s") % moment_text(job.arrives_at, job.shop)
    if settings.PUBLIC_URL:
        # Here, where rows are written: sending and previews only read it.
        visit_feed_token(job=job, now=now)
    reminder_write(
        purpose=ReminderPurpose.CONFIRM,
        reader=job.customer,
        cause=_visit_cause(job, event, why),
        due_at=now,
        expires_at=job.arrives_at,
        now=now,
    )
    due_at, expires_at = _day_before(job)
    if due_at > now:
        reminder_write(
            purpose=ReminderPurpose.DAY_BEFORE,
            reader=job.customer,
            cause=_visit_cause(job, event, why),
            due_at=due_at,
            expires_at=expires_at,
            now=now,
        )
    due_at = job.arrives_at - timedelta(hours=policy_of(job.shop).drop_off_hours)
    # Before an early drop-off the quiet hours leave no time; the evening before has said it.
    if polite(due_at, job.customer, job.shop) < job.arrives_at and due_at > now:
        reminder_write(
            purpose=ReminderPurpose.DROP_OFF,
            reader=job.customer,
            cause=_visit_cause(job, event, why),
            due_at=due_at,
            expires_at=job.arrives_at,
            now=now,
        )


def booking_reminders_move(*, job: Job, event: JobEvent, now: datetime) -> None:
    """Withdraw what the old times caused and has not gone out, and write it for the new ones.

    What was sent stays as it was: the customer gets a new confirmation.
    """
    assert job.arrives_at is not None
    why = _("Moved to %s") % moment_text(job.arrives_at, job.shop)
    reminders_withdraw(job=job, purposes=VISIT, why=why)
    booking_reminders_write(job=job, event=event, now=now)


def cure_reminder_set(*, cure: Cure, now: datetime) -> None:
    """Write the message of the end of the cure, or move it to the present forecast."""
    job, purpose = cure.job, ReminderPurpose.CURE_DONE
    due_at = polite(cure.forecast_handover_at, job.customer, job.shop)
    grace = PURPOSES[purpose].grace
    assert grace is not None
    why = _("Cure forecast to end %s") % moment_text(cure.forecast_handover_at, job.shop)
    there = Reminder.objects.filter(shop=job.shop, key=key_of(purpose, cure.pk))
    moved = there.filter(state=ReminderState.DUE).update(
        due_at=due_at, expires_at=due_at + grace, why=why
    )
    if not moved:
        reminder_write(
            purpose=purpose,
            reader=job.customer,
            cause=Cause(key=str(cure.pk), why=why, job=job),
            due_at=cure.forecast_handover_at,
            now=now,
        )


def ready_reminder_write(*, job: Job, event: JobEvent, now: datetime) -> None:
    """Write that the vehicle can be collected; it says the end of the cure as well."""
    reminders_withdraw(
        job=job,
        purposes=[ReminderPurpose.CURE_DONE],
        why=_("The message that the vehicle is ready says it"),
    )
    reminder_write(
        purpose=ReminderPurpose.READY,
        reader=job.customer,
        cause=_visit_cause(job, event, _("All work done")),
        due_at=now,
        now=now,
    )


def aftercare_reminders_write(
    *, job: Job, event: JobEvent, wash_from: datetime, now: datetime
) -> None:
    """Write first wash, first inspection and the yearly ones of a coated vehicle handed over.

    Parameters
    ----------
    wash_from
        When the coating stands its first wash.
    """
    why = _("Coating stands its first wash")
    reminder_write(
        purpose=ReminderPurpose.FIRST_WASH,
        reader=job.customer,
        cause=_visit_cause(job, event, why),
        due_at=max(wash_from, now),
        now=now,
    )
    policy = policy_of(job.shop)
    days = policy.first_inspection_days
    why = _("%s days after the hand-over") % days
    due_at = now + timedelta(days=days)
    reminder_write(
        purpose=ReminderPurpose.FIRST_INSPECTION,
        reader=job.customer,
        cause=_visit_cause(job, event, why),
        due_at=due_at,
        now=now,
    )
    for year in range(1, policy.yearly_times + 1):
        cause = Cause(
            key=f"{event.pk}.{year}",
            why=_("Year %s after the hand-over") % year,
            job=job,
            facts={"years": str(year)},
        )
        reminder_write(
            purpose=ReminderPurpose.YEARLY,
            reader=job.customer,
            cause=cause,
            due_at=_same_clock(job, now, year),
            now=now,
        )


def _same_clock(job: Job, at: datetime, years: int) -> datetime:
    """The same wall-clock time so many years later; 29 February becomes the 28th."""
    local = at.astimezone(job.shop.tz)
    day = months_later(local.date(), _MONTHS_A_YEAR * years)
    return instant_of(day, local.time(), job.shop.tz)


def _day_before(job: Job) -> tuple[datetime, datetime]:
    """Due time and expiry of the message of the evening before, on the shop's clock.

    It is not said on the day itself: it expires at the midnight that begins it.
    """
    assert job.arrives_at is not None
    zone = job.shop.tz
    day = job.arrives_at.astimezone(zone).date()
    evening = policy_of(job.shop).day_before_at
    return instant_of(day - timedelta(days=1), evening, zone), instant_of(day, time(), zone)


def _visit_cause(job: Job, event: JobEvent, why: str) -> Cause:
    return Cause(key=str(event.pk), why=why, job=job)
