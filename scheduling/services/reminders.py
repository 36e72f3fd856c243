"""Send what is due, once.

A row is claimed by a conditional update, sent outside of any transaction, and
recorded. A sender that dies in between leaves its claim behind; that row is later
marked as unknown for a person and never sent again by itself.
"""

from __future__ import annotations

import logging
import secrets
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

from django.db.models import F, Q
from django.utils.translation import gettext as _

from scheduling.models import Reminder, ReminderState
from scheduling.notify import CARRIERS, Message, NotifyError, carrier_for
from scheduling.services.cures import cures_update
from scheduling.services.horizon import policy_of
from scheduling.services.message_facts import READ_WITH
from scheduling.services.objections import objection_to
from scheduling.services.opt_out import stop_link
from scheduling.services.purposes import PURPOSES, address_of
from scheduling.services.quiet import polite
from scheduling.services.wording import Written, message_write
from shop.models import Member
from shop.refusals import Conflict, Problem, Refused
from shop.services.job_state import job_note

logger = logging.getLogger(__name__)

CLAIM_LOST_AFTER: Final = timedelta(minutes=30)
"""A claim this old belongs to a sender that died: no send takes so long."""
FIRST_WAIT: Final = timedelta(minutes=2)
WAIT_FACTOR: Final = 4
"""Waits before a next try: 2, 8, 32 and 128 minutes."""
GIVE_UP_AFTER: Final = 3
"""Failures of one carrier in a row, after which it is left alone until the next round."""
_STOPPABLE: Final = (ReminderState.DUE, ReminderState.FAILED, ReminderState.UNKNOWN)
_WHY_LENGTH: Final = 200
_ERROR_LENGTH: Final = 300


@dataclass(frozen=True)
class SendLine:
    """What became of one message."""

    reminder: Reminder
    outcome: str


@dataclass
class SendReport:
    """What one round did: counts, and a line for each message that was taken up."""

    sent: int = 0
    failed: int = 0
    retried: int = 0
    expired: int = 0
    withdrawn: int = 0
    unknown: int = 0
    postponed: int = 0
    lines: list[SendLine] = field(default_factory=list)

    def add(self, reminder: Reminder, outcome: str) -> None:
        """Count one message by what became of it."""
        setattr(self, outcome, getattr(self, outcome) + 1)
        self.lines.append(SendLine(reminder, outcome))


def reminders_send_due(
    *, now: datetime, limit: int = 200, through: str | None = None
) -> SendReport:
    """Send every message that is due, of every shop, the longest due first.

    Parameters
    ----------
    limit
        How many to take up at most.
    through
        Name of a carrier to use for all of them instead of the configured ones.

    Notes
    -----
    Cures are brought up to date first, so that what goes out fits the facts of
    this moment. Call it outside of a transaction: a claim has to be seen by other
    senders before anything is sent.
    """
    cures_update(now=now)
    report = SendReport()
    report.unknown += _mark_lost_claims(now)
    report.expired += _expire(now)
    failures: dict[str, int] = {}
    due = (
        Reminder.objects.filter(state=ReminderState.DUE, due_at__lte=now)
        .order_by("due_at", "pk")
        .values_list("pk", flat=True)[:limit]
    )
    for pk in list(due):
        reminder = _row(pk)
        carrier = through or carrier_for(reminder.channel)
        if failures.get(carrier, 0) >= GIVE_UP_AFTER:
            # A dead provider does not hold up another; its rows stay due.
            continue
        if _settled_unsent(reminder, now, report):
            continue
        if not _claim(reminder, ReminderState.DUE, now):
            continue
        outcome = _send(reminder, carrier, now)
        failures[carrier] = failures.get(carrier, 0) + 1 if outcome == "retried" else 0
        report.add(reminder, outcome)
    return report


def reminder_send_now(*, reminder: Reminder, member: Member, now: datetime) -> Reminder:
    """Send one message at once because a person says so, quiet hours or not.

    Raises
    ------
    Refused
        It was sent, withdrawn or expired; or the customer has not agreed to it.
    Conflict
        It is being sent, or changed in this moment.
    """
    row = _row(reminder.pk)
    if row.state == ReminderState.CLAIMED:
        raise Conflict(_("It is being sent right now."))
    if row.state not in _STOPPABLE:
        raise Refused(_("It is %s and cannot be sent.") % row.get_state_display().lower())
    objection = objection_to(row)
    if objection:
        raise Refused(objection)
    if not _claim(row, row.state, now):
        raise Conflict(_("It was changed by somebody else; look at it again."))
    _job_note(row, member, now, _("“%s” sent by hand.") % row.get_purpose_display())
    _send(row, carrier_for(row.channel), now)
    reminder.refresh_from_db()
    return reminder


def reminder_stop(*, reminder: Reminder, member: Member, now: datetime, why: str) -> Reminder:
    """Withdraw a message that has not gone out, with who and why.

    Raises
    ------
    Refused
        No reason is given, or it is in no state to be stopped.
    Conflict
        It is being sent or was changed in this moment.
    """
    if not why.strip():
        raise Refused(Problem(_("Say why it is stopped."), "why"))
    state = Reminder.objects.get(pk=reminder.pk).state
    if state not in (*_STOPPABLE, ReminderState.CLAIMED):
        raise Refused(_("It is %s already.") % ReminderState(state).label.lower())
    # Race: a sender claims it in this moment. The update names the state that was
    # seen; a claimed row is not touched, since it may be on its way.
    stopped = Reminder.objects.filter(pk=reminder.pk, state=state, state__in=_STOPPABLE).update(
        state=ReminderState.WITHDRAWN, why=f"{member.name}: {why}"[:_WHY_LENGTH]
    )
    if not stopped:
        raise Conflict(_("It is being sent right now."))
    words = {"what": reminder.get_purpose_display(), "why": why}
    _job_note(reminder, member, now, _("“%(what)s” stopped: %(why)s") % words)
    reminder.refresh_from_db()
    return reminder


def _row(pk: int) -> Reminder:
    return Reminder.objects.select_related(*READ_WITH).get(pk=pk)


def _job_note(reminder: Reminder, member: Member, now: datetime, why: str) -> None:
    if reminder.job is not None:
        job_note(job=reminder.job, kind="reminder", now=now, member=member, why=why)


def _mark_lost_claims(now: datetime) -> int:
    """Mark what a dead sender left: whether it went out is not known."""
    return Reminder.objects.filter(
        state=ReminderState.CLAIMED, claimed_at__lt=now - CLAIM_LOST_AFTER
    ).update(
        state=ReminderState.UNKNOWN,
        error=_("The sender stopped while sending; ask the customer or look at the provider."),
    )


def _expire(now: datetime) -> int:
    return Reminder.objects.filter(state=ReminderState.DUE, expires_at__lte=now).update(
        state=ReminderState.EXPIRED,
        why=_("Not sent: its time had passed when the sender came to it."),
    )


def _settled_unsent(reminder: Reminder, now: datetime, report: SendReport) -> bool:
    """Withdraw or postpone a due row that must not go out now; return whether it was one."""
    objection = objection_to(reminder)
    if objection:
        if _leave(reminder, state=ReminderState.WITHDRAWN, why=objection[:_WHY_LENGTH]):
            report.add(reminder, "withdrawn")
        return True
    if PURPOSES[reminder.purpose].at_night:
        return False
    later = polite(now, reminder.reader, reminder.shop)
    if later <= now:
        return False
    if reminder.expires_at is not None and later >= reminder.expires_at:
        why = _("Not sent: quiet hours last until it is too late.")
        if _leave(reminder, state=ReminderState.EXPIRED, why=why):
            report.add(reminder, "expired")
    elif _leave(reminder, due_at=later):
        report.add(reminder, "postponed")
    return True


def _leave(reminder: Reminder, **changes: object) -> bool:
    """Change a row that is still due; False where somebody else changed it first."""
    return bool(Reminder.objects.filter(pk=reminder.pk, state=ReminderState.DUE).update(**changes))


def _claim(reminder: Reminder, state: str, now: datetime) -> bool:
    """Take a row for this sender.

    Race: two senders see the same row due, or it is withdrawn in this moment. The
    update names the state and the due time that were seen and counts its rows, so
    that exactly one of them gets it.
    """
    token = secrets.token_hex(16)
    seen = Q(pk=reminder.pk, state=state, due_at=reminder.due_at)
    claimed = Reminder.objects.filter(seen).update(
        state=ReminderState.CLAIMED, claim=token, claimed_at=now, attempts=F("attempts") + 1
    )
    reminder.claim, reminder.attempts = token, reminder.attempts + 1
    return bool(claimed)


def _send(reminder: Reminder, carrier: str, now: datetime) -> str:
    """Send a claimed row and record what came of it; return the outcome's name."""
    try:
        written = message_write(reminder)
        message = _message(reminder, written)
        CARRIERS[carrier](message)
    except Refused as error:
        return _record_failure(reminder, NotifyError(str(error), permanent=True), now)
    except NotifyError as error:
        return _record_failure(reminder, error, now)
    except Exception as error:  # noqa: BLE001 -- whatever a provider raises, it may have sent
        logger.warning("Reminder %s through %s: %r", reminder.pk, carrier, error)
        _record(reminder, state=ReminderState.UNKNOWN, error=repr(error)[:_ERROR_LENGTH])
        return "unknown"
    _record(
        reminder,
        state=ReminderState.SENT,
        sent_at=now,
        recipient=message.recipient,
        subject=message.subject,
        body=message.text,
        error="",
    )
    return "sent"


def _record_failure(reminder: Reminder, error: NotifyError, now: datetime) -> str:
    """Try again later, with a growing wait, or give up for a person to see."""
    text = str(error)[:_ERROR_LENGTH]
    wait = FIRST_WAIT * WAIT_FACTOR ** (reminder.attempts - 1)
    if error.permanent or reminder.attempts >= policy_of(reminder.shop).send_tries:
        _record(reminder, state=ReminderState.FAILED, error=text)
        return "failed"
    if reminder.expires_at is not None and now + wait >= reminder.expires_at:
        why = _("Not sent: the next try would have come too late.")
        _record(reminder, state=ReminderState.EXPIRED, error=text, why=why)
        return "expired"
    _record(reminder, state=ReminderState.DUE, due_at=now + wait, error=text)
    return "retried"


def _record(reminder: Reminder, **changes: object) -> None:
    """Write the outcome of our own claim; one that was taken for lost is left alone."""
    rows = Reminder.objects.filter(
        pk=reminder.pk, state=ReminderState.CLAIMED, claim=reminder.claim
    )
    if not rows.update(**changes):
        logger.warning("Reminder %s lost its claim before it was recorded.", reminder.pk)
    for name, value in changes.items():
        setattr(reminder, name, value)


def _message(reminder: Reminder, written: Written) -> Message:
    recipient = address_of(reminder.reader, reminder.channel)
    if not recipient:
        who = reminder.reader.name
        raise NotifyError(_("No address is known of %s.") % who, permanent=True)
    return Message(
        channel=reminder.channel,
        recipient=recipient,
        subject=written.subject,
        text=written.text,
        html=written.html,
        key=reminder.key,
        sender_name=reminder.shop.name,
        reply_to=reminder.shop.email,
        stop_link=stop_link(reminder),
    )
