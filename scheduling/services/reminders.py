"""Send what is due, once.

A row is claimed by a conditional update, sent outside of any transaction, and
recorded. A sender that dies in between leaves its claim behind; that row is later
marked as unknown for a person and never sent again by itself.
"""

from __future__ import annotations

import logging
import os
import secrets
import socket
import time
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

from django.db import InterfaceError, OperationalError, connection
from django.db.models import F, Q, QuerySet
from django.utils.translation import gettext as _

from scheduling.models import Reminder, ReminderState
from scheduling.notify import CARRIERS, Message, NotifyError, Unanswered, carrier_for
from scheduling.services.cures import cures_update
from scheduling.services.horizon import policy_of
from scheduling.services.message_facts import READ_WITH
from scheduling.services.objections import objection_to
from scheduling.services.opt_out import stop_link
from scheduling.services.purposes import PURPOSES, address_of
from scheduling.services.quiet import polite
from scheduling.services.retry import wait_before_next
from scheduling.services.when import moment_text
from scheduling.services.wording import Written, message_write
from shop.models import Channel, Member
from shop.refusals import Conflict, Problem, Refused
from shop.services.job_state import job_note
from shop.stopping import stopping

logger = logging.getLogger(__name__)

CLAIM_LOST_AFTER: Final = timedelta(minutes=30)
"""A claim this old belongs to a sender that died: no send takes so long."""
GIVE_UP_AFTER: Final = 3
"""Failures of one carrier in a row, after which it is left alone until the next round."""
_STOPPABLE: Final = (ReminderState.DUE, ReminderState.FAILED, ReminderState.UNKNOWN)
RECORD_TRIES: Final = 3
"""How often an outcome is written where the database breaks the line meanwhile."""
RECORD_WAIT_SECONDS: Final = 0.2
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
    *,
    now: datetime,
    limit: int = 200,
    through: str | None = None,
    channels: Collection[str] = (),
    within: timedelta | None = None,
) -> SendReport:
    """Send every message that is due, of every shop, the longest due first.

    Parameters
    ----------
    limit
        How many of each channel to take up at most.
    through
        Name of a carrier to use for all of them instead of the configured ones.
    channels
        Only these; all, one after the other, where none is named.
    within
        No further message is taken up after so long; what is left is due in the next round.

    Notes
    -----
    Cures are brought up to date first, so that what goes out fits the facts of
    this moment. Call it outside of a transaction: a claim has to be seen by other
    senders before anything is sent.
    """
    until = None if within is None else time.monotonic() + within.total_seconds()
    cures_update(now=now)
    report = SendReport()
    report.unknown += _mark_lost_claims(now)
    report.expired += _expire(now)
    # Each has a limit of its own: what waits for a dead provider, however much, never
    # stands before what another would take.
    for channel in channels or Channel.values:
        _round(channel, through, limit, now, until, report)
    return report


def due_rows(channel: str, now: datetime, limit: int) -> QuerySet[Reminder, int]:
    """Return which messages of a channel are due, the longest due first."""
    due = Reminder.objects.filter(state=ReminderState.DUE, channel=channel, due_at__lte=now)
    return due.order_by("due_at", "pk").values_list("pk", flat=True)[:limit]


def _round(
    channel: str,
    through: str | None,
    limit: int,
    now: datetime,
    until: float | None,
    report: SendReport,
) -> None:
    """Take up what is due on one channel until its carrier fails too often in a row."""
    carrier = through or carrier_for(channel)
    failures = 0
    for pk in list(due_rows(channel, now, limit)):
        over = until is not None and time.monotonic() > until
        if failures >= GIVE_UP_AFTER or over or stopping.is_set():
            # The rest stays due for the next round.
            return
        reminder = _row(pk)
        if _settled_unsent(reminder, now, report):
            continue
        if not _claim(reminder, ReminderState.DUE, carrier, now):
            continue
        outcome, trouble = _send(reminder, carrier, now)
        failures = failures + 1 if trouble else 0
        report.add(reminder, outcome)


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
    carrier = carrier_for(row.channel)
    if not _claim(row, row.state, carrier, now):
        raise Conflict(_("It was changed by somebody else; look at it again."))
    _job_note(row, member, now, _("“%s” sent by hand.") % row.get_purpose_display())
    _send(row, carrier, now)
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
    """Mark what a dead sender left, with what is known: whether it went out is not."""
    lost = Reminder.objects.filter(
        state=ReminderState.CLAIMED, claimed_at__lt=now - CLAIM_LOST_AFTER
    ).select_related("shop")
    marked = 0
    for reminder in list(lost):
        known = {
            "when": moment_text(reminder.claimed_at, reminder.shop) if reminder.claimed_at else "?",
            "by": reminder.claimed_by or "?",
            "carrier": reminder.carrier or "?",
            "attempt": reminder.attempts,
        }
        text = _(
            "The sender stopped while sending (try %(attempt)s, taken up %(when)s by %(by)s, "
            "through %(carrier)s); ask the customer or look at the provider."
        )
        # Race: another round marks it too, or it is recorded after all.
        marked += Reminder.objects.filter(
            pk=reminder.pk, state=ReminderState.CLAIMED, claim=reminder.claim
        ).update(state=ReminderState.UNKNOWN, error=(text % known)[:_ERROR_LENGTH])
    return marked


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


def _claim(reminder: Reminder, state: str, carrier: str, now: datetime) -> bool:
    """Take a row for this sender, and note who it is and what it will be given to.

    Race: two senders see the same row due, or it is withdrawn in this moment. The
    update names the state and the due time that were seen and counts its rows, so
    that exactly one of them gets it.
    """
    token = secrets.token_hex(16)
    seen = Q(pk=reminder.pk, state=state, due_at=reminder.due_at)
    claimed = Reminder.objects.filter(seen).update(
        state=ReminderState.CLAIMED,
        claim=token,
        claimed_at=now,
        claimed_by=f"{socket.gethostname()[:60]}/{os.getpid()}",
        carrier=carrier,
        attempts=F("attempts") + 1,
    )
    reminder.claim, reminder.attempts = token, reminder.attempts + 1
    return bool(claimed)


def _send(reminder: Reminder, carrier: str, now: datetime) -> tuple[str, bool]:
    """Send a claimed row and record what came of it.

    Returns the outcome's name, and whether the carrier itself is in trouble.
    """
    try:
        written = message_write(reminder)
        message = _message(reminder, written)
        CARRIERS[carrier](message)
    except Refused as error:
        return _record_failure(reminder, NotifyError(str(error), permanent=True), now), False
    except NotifyError as error:
        return _record_failure(reminder, error, now), not error.permanent
    except Exception as error:  # noqa: BLE001 -- whatever a provider raises, it may have sent
        logger.warning("Reminder %s through %s: %r", reminder.pk, carrier, error)
        text = str(error) if isinstance(error, Unanswered) else repr(error)
        _record(reminder, state=ReminderState.UNKNOWN, error=text[:_ERROR_LENGTH])
        return "unknown", True
    _record(
        reminder,
        state=ReminderState.SENT,
        sent_at=now,
        recipient=message.recipient,
        subject=message.subject,
        body=message.text,
        error="",
    )
    return "sent", False


def _record_failure(reminder: Reminder, error: NotifyError, now: datetime) -> str:
    """Try again later, with a growing wait, or give up for a person to see."""
    text = str(error)[:_ERROR_LENGTH]
    wait = wait_before_next(reminder.key, reminder.attempts)
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
    """Write the outcome of our own claim; one that was taken for lost is left alone.

    Where the line to the database breaks, it is written again on a new one: what is known
    now would otherwise be a question to a person half an hour later. Written twice it says
    the same.
    """
    for attempt in range(1, RECORD_TRIES + 1):
        try:
            _record_once(reminder, changes)
        except (OperationalError, InterfaceError):
            if attempt == RECORD_TRIES or connection.in_atomic_block:
                raise
            connection.close()
            time.sleep(RECORD_WAIT_SECONDS * attempt)
        else:
            break
    for name, value in changes.items():
        setattr(reminder, name, value)


def _record_once(reminder: Reminder, changes: dict[str, object]) -> None:
    claim = Reminder.objects.filter(pk=reminder.pk, claim=reminder.claim)
    if claim.filter(state=ReminderState.CLAIMED).update(**changes):
        return
    if not claim.filter(state=changes["state"]).exists():
        logger.warning("Reminder %s lost its claim before it was recorded.", reminder.pk)


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
