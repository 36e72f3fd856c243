"""Messages that hang on a quote, money, the stock, a gauge or a recoat window.

Written by :mod:`scheduling.receivers` and the floor, in the transaction of the cause.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal

from django.utils.translation import gettext as _

from estimating.models import GaugeCalibration, Quote, QuoteState
from estimating.selectors import balance_of
from estimating.services.gauges import gauge_life_days
from scheduling.models import Reminder, ReminderPurpose, ReminderState
from scheduling.services.horizon import policy_of
from scheduling.services.reminder_write import (
    Cause,
    key_of,
    owners_of,
    reminder_write,
    reminders_withdraw,
)
from scheduling.services.when import moment_text
from shop.models import Consumable, Job, JobEvent, Member, Operation, WorkEntry
from shop.money import rounded
from shop.refusals import Refused

RECOAT = (ReminderPurpose.RECOAT_OPEN, ReminderPurpose.RECOAT_CLOSING)


def follow_up_write(*, quote: Quote, now: datetime) -> None:
    """Ask about a quote some days after it was sent, while it is still valid."""
    days = policy_of(quote.shop).follow_up_days
    reminder_write(
        purpose=ReminderPurpose.FOLLOW_UP,
        reader=quote.customer,
        cause=Cause(key=str(quote.pk), why=_("Sent %s days ago, no answer") % days, quote=quote),
        due_at=(quote.sent_at or now) + timedelta(days=days),
        expires_at=quote.valid_until,
        now=now,
    )


def follow_up_withdraw(*, quote: Quote) -> None:
    """The customer answered, or there is a newer version."""
    state = QuoteState(quote.state).label.lower()
    reminders_withdraw(quote=quote, why=_("The quote is %s") % state)


def balance_reminder_write(*, job: Job, event: JobEvent, now: datetime) -> None:
    """Ask for what is still to be paid, some days after the hand-over."""
    owed = balance_of(job)
    if owed <= 0:
        return
    days = policy_of(job.shop).balance_days
    reminder_write(
        purpose=ReminderPurpose.BALANCE_DUE,
        reader=job.customer,
        cause=Cause(
            key=str(event.pk), why=_("%s days after the hand-over, not paid") % days, job=job
        ),
        due_at=now + timedelta(days=days),
        now=now,
    )


def balance_reminder_settle(*, job: Job) -> None:
    """Withdraw the asking where all is paid."""
    if balance_of(job) <= 0:
        reminders_withdraw(job=job, purposes=[ReminderPurpose.BALANCE_DUE], why=_("All is paid"))


def gauge_reminder_write(*, calibration: GaugeCalibration, now: datetime) -> None:
    """Tell the owners when the check of a gauge is no longer good; a newer check moves it."""
    gauge = calibration.gauge
    shop = gauge.shop
    earlier = gauge.calibrations.exclude(pk=calibration.pk).values_list("pk", flat=True)
    owners = owners_of(shop)
    keys = [
        key_of(ReminderPurpose.GAUGE_CHECK, f"{pk}.{owner.pk}")
        for pk in earlier
        for owner in owners
    ]
    reminders_withdraw(shop=shop, keys=keys, why=_("Checked again"))
    try:
        days = gauge_life_days(shop=shop, now=now) if calibration.passed else 0
    except Refused:
        return  # Without a catalogue nothing is estimated, so no check runs out.
    why = (
        _("Checked %s days ago") % days
        if calibration.passed
        else _("It read outside its stated accuracy")
    )
    for owner in owners:
        reminder_write(
            purpose=ReminderPurpose.GAUGE_CHECK,
            reader=owner,
            cause=Cause(
                key=f"{calibration.pk}.{owner.pk}",
                why=why,
                facts={"gauge": gauge.name, "last_check": moment_text(calibration.at, shop)},
            ),
            due_at=now + timedelta(days=days),
            now=now,
        )


def stock_reminder_write(*, consumable: Consumable, now: datetime) -> None:
    """Tell the owners that an item fell to its reorder point; once until it is bought again."""
    point = Decimal(str(consumable.reorder_point))
    if not consumable.active or consumable.on_hand > point:
        return
    shop = consumable.shop
    for owner in owners_of(shop):
        key = f"{consumable.pk}.{owner.pk}"
        waiting = Reminder.objects.filter(
            shop=shop,
            purpose=ReminderPurpose.LOW_STOCK,
            member=owner,
            facts__consumable=str(consumable.pk),
            state__in=(ReminderState.DUE, ReminderState.CLAIMED, ReminderState.FAILED),
        )
        # One a day is enough, and one that still waits says it already.
        if waiting.exists():
            continue
        reminder_write(
            purpose=ReminderPurpose.LOW_STOCK,
            reader=owner,
            cause=Cause(
                key=f"{key}.{now.astimezone(shop.tz).date():%Y%m%d}",
                why=_("%(left)s %(unit)s left")
                % {"left": f"{consumable.on_hand.normalize():f}", "unit": consumable.unit},
                facts={
                    "consumable": str(consumable.pk),
                    "item": consumable.name,
                    "on_hand": f"{consumable.on_hand.normalize():f} {consumable.unit}",
                    "reorder_point": f"{point.normalize():f} {consumable.unit}",
                },
            ),
            due_at=now,
            now=now,
        )


def recoat_reminders_set(
    *, operation: Operation, opens_at: datetime, closes_at: datetime, now: datetime
) -> None:
    """Tell who coats when the window for the next layer opens and is about to close.

    Called again with other times, it moves what has not gone out.

    Parameters
    ----------
    operation
        The layer that has to follow within the window.
    """
    job = operation.job
    warn = timedelta(minutes=policy_of(job.shop).recoat_warning_minutes)
    times = {
        ReminderPurpose.RECOAT_OPEN: opens_at,
        ReminderPurpose.RECOAT_CLOSING: max(opens_at, closes_at - warn),
    }
    facts = {
        "operation": operation.name,
        "opens": moment_text(opens_at, job.shop),
        "closes": moment_text(closes_at, job.shop),
    }
    for member in _who_coats(operation):
        for purpose, due_at in times.items():
            key = f"{operation.pk}.{member.pk}"
            moved = Reminder.objects.filter(
                shop=job.shop, key=key_of(purpose, key), state=ReminderState.DUE
            ).update(due_at=due_at, expires_at=closes_at, facts=facts)
            if not moved:
                why = _("%(what)s until %(when)s") % {
                    "what": operation.name,
                    "when": facts["closes"],
                }
                reminder_write(
                    purpose=purpose,
                    reader=member,
                    cause=Cause(key=key, why=why, job=job, facts=facts),
                    due_at=due_at,
                    expires_at=closes_at,
                    now=now,
                )


def recoat_reminders_withdraw(*, operation: Operation) -> None:
    """The next layer was begun."""
    reminders_withdraw(job=operation.job, purposes=RECOAT, why=_("%s was begun") % operation.name)


def balance_text(job: Job) -> str:
    """What is still to be paid, with its currency."""
    return f"{rounded(balance_of(job), job.currency)} {job.currency}"


def _who_coats(operation: Operation) -> list[Member]:
    """Who worked on the vehicle's coating so far; the owners where nobody did."""
    worked = (
        WorkEntry.objects.filter(operation__job=operation.job_id, operation__kind=operation.kind)
        .order_by()
        .values("member")
    )
    members = Member.objects.filter(pk__in=worked, active=True).select_related("user", "shop")
    return list(members.order_by("pk")) or owners_of(operation.job.shop)
