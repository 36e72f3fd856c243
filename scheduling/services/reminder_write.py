"""Write one row of a message, once for each cause, or note why it is not written."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from django.utils.translation import gettext as _

from estimating.models import Quote
from scheduling.models import Reminder, ReminderPurpose, ReminderState
from scheduling.services.purposes import PURPOSES, channel_for, channel_for_member
from scheduling.services.quiet import polite
from shop.models import Customer, Job, Member, Role, Shop
from shop.services.job_state import job_note

WHY_LENGTH = 200
_OPEN = (ReminderState.DUE, ReminderState.FAILED)


@dataclass(frozen=True)
class Cause:
    """What a message hangs on: records it is about, and facts they will not say later.

    ``key`` is the same for the same cause, so that it is written once.
    """

    key: str
    why: str
    job: Job | None = None
    quote: Quote | None = None
    facts: Mapping[str, str] = field(default_factory=dict)


def reminder_write(
    *,
    purpose: str,
    reader: Customer | Member,
    cause: Cause,
    due_at: datetime,
    now: datetime,
    expires_at: datetime | None = None,
) -> None:
    """Write one row, unless nobody agreed to it or it could only come too late.

    A job's own events say which message was not written and why. A message that could
    only have gone out in the past is not written either.
    """
    what = PURPOSES[purpose]
    shop: Shop = reader.shop
    if not what.at_night:
        due_at = polite(due_at, reader, shop)
    if what.grace is not None:
        expires_at = due_at + what.grace
    channel = _channel(reader, purpose)
    if channel is None:
        _note(cause, purpose, now, _("No “%s” message: the customer has not agreed to one."))
        return
    if expires_at is not None and max(due_at, now) >= expires_at:
        _note(cause, purpose, now, _("No “%s” message: it could only come too late."))
        return
    customer, member = (reader, None) if isinstance(reader, Customer) else (None, reader)
    # Idempotent: the same cause never writes a second row.
    Reminder.objects.get_or_create(
        shop=shop,
        key=key_of(purpose, cause.key),
        defaults={
            "job": cause.job,
            "quote": cause.quote,
            "customer": customer,
            "member": member,
            "facts": dict(cause.facts),
            "purpose": purpose,
            "channel": channel,
            "due_at": due_at,
            "expires_at": expires_at,
            "why": cause.why[:WHY_LENGTH],
        },
    )


def key_of(purpose: str, cause: str | int) -> str:
    """The key of the row that one cause writes."""
    return f"{purpose}/{cause}"


def reminders_withdraw(
    *,
    why: str,
    job: Job | None = None,
    quote: Quote | None = None,
    keys: Iterable[str] = (),
    shop: Shop | None = None,
    purposes: Iterable[str] = (),
) -> int:
    """Withdraw messages that have not gone out, of a job, a quote, or with these keys.

    Parameters
    ----------
    purposes
        Only these; all where none is named.
    shop
        Whose keys they are; needed with ``keys``.

    Notes
    -----
    Race: a sender claims the row in this moment. Both updates name the state they
    saw, so either it is withdrawn and never sent, or sent and not withdrawn.
    """
    rows = Reminder.objects.filter(state__in=_OPEN)
    if job is not None:
        rows = rows.filter(job=job)
    elif quote is not None:
        rows = rows.filter(quote=quote)
    else:
        rows = rows.filter(shop=shop, key__in=list(keys))
    chosen = list(purposes)
    if chosen:
        rows = rows.filter(purpose__in=chosen)
    return rows.update(state=ReminderState.WITHDRAWN, why=why[:WHY_LENGTH])


def owners_of(shop: Shop) -> list[Member]:
    """The people who answer for the shop: they get what is nobody else's."""
    owners = Member.objects.of(shop).filter(role=Role.OWNER, active=True)
    return list(owners.select_related("user", "shop").order_by("pk"))


def _channel(reader: Customer | Member, purpose: str) -> str | None:
    if isinstance(reader, Member):
        return channel_for_member(reader)
    return channel_for(reader, purpose)


def _note(cause: Cause, purpose: str, now: datetime, text: str) -> None:
    if cause.job is None:
        return
    label = ReminderPurpose(purpose).label
    job_note(job=cause.job, kind="reminder", now=now, member=None, why=text % label)
