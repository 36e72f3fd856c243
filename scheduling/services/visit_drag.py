"""Moving a booked visit by hand: tried while it is dragged, written when it is confirmed.

What was shown is what is written. Where it changed in between, nothing is, and the person is
told what happened.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from django.core import signing
from django.db import transaction
from django.utils.translation import gettext as _

from scheduling.models import Resource
from scheduling.services.bookings import bookings_rearrange
from scheduling.services.offers import Offer, offers_find
from scheduling.services.visit_record import offer_of_record, visit_record
from scheduling.services.when import moment_text
from shop.models import Job, JobState, Member, Operation
from shop.refusals import Conflict, Problem, Refused

BACK_WITHIN: Final = timedelta(hours=1)
_SALT: Final = "visit-back"


@dataclass(frozen=True)
class Trial:
    """Where a visit would really land, or the reasons why it cannot."""

    offer: Offer | None
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True)
class Shown:
    """What the person saw: where the visit was, and where it was said to land."""

    seen_at: datetime
    arrives_at: datetime
    promised_at: datetime


def visit_try(*, job: Job, at: datetime, bay: Resource | None, now: datetime) -> Trial:
    """Return the earliest visit from ``at`` on, nothing else moved. Writes nothing.

    Parameters
    ----------
    bay
        Where the person wants it: see :mod:`scheduling.services.bay_wish`.
    """
    if job.state != JobState.BOOKED:
        return Trial(None, (_not_booked(job),))
    if at < now:
        return Trial(None, (_("That has passed: choose a time from now on."),))
    try:
        offers = offers_find(
            shop=job.shop,
            operations=list(Operation.objects.filter(job=job).order_by("sequence")),
            earliest=at,
            now=now,
            count=1,
            ignoring=job,
            bay=bay,
        )
    except Refused as refused:
        return Trial(None, tuple(problem.message for problem in refused.problems))
    return Trial(offers.found[0] if offers.found else None, tuple(offers.reasons))


def visit_put(
    *,
    job: Job,
    member: Member,
    now: datetime,
    at: datetime,
    bay: Resource | None,
    shown: Shown,
    why: str,
) -> str:
    """Move a booked visit to where it was shown to land; return what undoes it.

    Raises
    ------
    Refused
        No reason is given, or it fits nowhere.
    Conflict
        Somebody moved it meanwhile, or what was shown is no longer free.
    """
    if not why.strip():
        raise Refused(Problem(_("Say why it moves."), field="why"))
    trial = visit_try(job=job, at=at, bay=bay, now=now)
    if trial.offer is None:
        raise Refused(*trial.reasons)
    if _times(trial.offer) != (shown.arrives_at, shown.promised_at):
        words = {
            "shown": moment_text(shown.arrives_at, job.shop),
            "arrives": moment_text(trial.offer.arrives_at, job.shop),
            "promised": moment_text(trial.offer.promised_at, job.shop),
        }
        text = _(
            "The calendar changed meanwhile: it would now come %(arrives)s, promised %(promised)s "
            "(shown was %(shown)s). Nothing was moved."
        )
        raise Conflict(text % words)
    return _write(job, shown.seen_at, trial.offer, member, now, why)


def visit_back(*, token: str, member: Member, now: datetime) -> Job:
    """Put a visit back to where it was before a move by hand, exactly.

    Raises
    ------
    Refused
        The undoing is too old, or what it goes back to has passed.
    Conflict
        It was moved again, or somebody else has what it had.
    """
    try:
        record: dict[str, Any] = signing.loads(token, salt=_SALT, max_age=BACK_WITHIN)
    except signing.BadSignature as error:
        raise Refused(_("That move can no longer be taken back; move it again.")) from error
    job = Job.objects.of(member.shop).select_related("shop").filter(pk=record["job"]).first()
    if job is None:
        raise Refused(_("There is no such job."))
    offer = offer_of_record(record)
    if offer.arrives_at < now:
        raise Refused(_("It stood at a time that has passed, and cannot go back there."))
    _write(job, datetime.fromisoformat(record["moved_to"]), offer, member, now, _("Moved back"))
    job.refresh_from_db()
    return job


@transaction.atomic
def _write(
    job: Job, seen_at: datetime, offer: Offer, member: Member, now: datetime, why: str
) -> str:
    # Race: two people move one vehicle. The second sees that it is no longer where they saw it.
    locked = Job.objects.select_for_update(of=("self",)).select_related("shop").get(pk=job.pk)
    if locked.state != JobState.BOOKED:
        raise Conflict(_not_booked(locked))
    if locked.arrives_at != seen_at:
        raise Conflict(_moved_by(locked))
    before = visit_record(locked)
    bookings_rearrange(visits=[(locked, offer)], member=member, now=now, why=why)
    record = before | {"job": job.pk, "moved_to": offer.arrives_at.isoformat()}
    return signing.dumps(record, salt=_SALT, compress=True)


def _times(offer: Offer) -> tuple[datetime, datetime]:
    return offer.arrives_at, offer.promised_at


def _not_booked(job: Job) -> str:
    words = {"number": job.number, "state": job.get_state_display().lower()}
    return _("%(number)s is %(state)s; only what is booked and not here yet can be moved.") % words


def _moved_by(job: Job) -> str:
    last = job.events.filter(kind="moved").select_related("member").last()
    words = {
        "number": job.number,
        "who": last.member.name if last and last.member else _("somebody else"),
        "when": moment_text(job.arrives_at, job.shop) if job.arrives_at else "",
    }
    return _("%(number)s was moved by %(who)s meanwhile, to %(when)s. Nothing was changed.") % words
