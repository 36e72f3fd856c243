"""Calls that are under way: kept with every change, taken over, discarded, brought back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

from django.utils.translation import gettext as _

from estimating.models import Quote
from scheduling.models import CallDraft, CallState
from scheduling.services.when import moment_text
from shop.models import Job, Member
from shop.refusals import Conflict

KEPT_DAYS: Final = 30
"""An open call that nobody touched for so long is cleared."""
CLOSED_DAYS: Final = 1
"""A finished or discarded call is there to be brought back, not to be kept."""
_LONGEST_VALUE: Final = 400
_MOST_VALUES: Final = 40
_MOST_FIELDS: Final = 60

Form = Mapping[str, Sequence[str]]


def draft_keep(
    *,
    member: Member,
    key: UUID,
    form: Form,
    title: str,
    turn: int,
    page: str,
    now: datetime,
    begin: bool = True,
) -> bool:
    """Write down what stands in the fields; the first time, begin the draft.

    One query where the draft is there and in ``member``'s hands.

    Parameters
    ----------
    form
        Every field's values as they were typed, right or wrong.
    turn
        Grows with each change of one page; a smaller one than is kept is overtaken.
    page
        Tells windows apart that show the same call.
    begin
        Whether there is something to keep, so that a call not kept yet begins here.

    Returns
    -------
    bool
        Whether there is a draft now that says this.

    Raises
    ------
    Conflict
        Another person has the call in hand, it is closed, or it went on in another window.
    """
    said = {
        "title": title[:120],
        "form": _bounded(form),
        "turn": turn,
        "page": page,
        "updated_at": now,
    }
    # Race: two changes at once, or somebody taking the call over. The condition is
    # part of the update, so whichever comes second finds no row of its own.
    mine = CallDraft.objects.filter(
        key=key, shop=member.shop, member=member, state=CallState.OPEN, turn__lt=turn
    )
    if mine.update(**said):
        return True
    if begin:
        row = CallDraft(shop=member.shop, key=key, member=member, started_at=now, **said)
        # Race: the answers to two first changes. One row stands, whichever it is.
        CallDraft.objects.bulk_create([row], ignore_conflicts=True)
    found = CallDraft.objects.of(member.shop).select_related("member").filter(key=key).first()
    if found is None:
        if begin:
            raise Conflict(_("This call is not of this shop."))
        return False
    _refuse_lost(found, member, page)
    # Overtaken by a later change of the same page, which said all that this one says;
    # or the row is the one of an earlier change, written in between.
    return bool(found.turn >= turn or mine.update(**said))


def _refuse_lost(found: CallDraft, member: Member, page: str) -> None:
    """Refuse where what is typed here is not what is kept, and say why."""
    if found.state != CallState.OPEN:
        raise Conflict(
            _("This call is %s; what you change here is not kept.")
            % found.get_state_display().lower()
        )
    if found.member_id != member.pk:
        at = moment_text(found.updated_at, member.shop)
        raise Conflict(
            _("%(name)s has this call in hand (last change %(at)s); what you change is not kept.")
            % {"name": found.member.name, "at": at}
        )
    if found.page != page:
        raise Conflict(_("This call went on in another window; load the page anew."))


def _bounded(form: Form) -> dict[str, list[str]]:
    """What may be written: no field is endless, however much was pasted into it."""
    return {
        name: [str(value).replace("\x00", "")[:_LONGEST_VALUE] for value in values[:_MOST_VALUES]]
        for name, values in list(form.items())[:_MOST_FIELDS]
    }


def draft_take_over(*, draft: CallDraft, member: Member, now: datetime) -> CallDraft:
    """Go on with a call that somebody else has in hand.

    Raises
    ------
    Conflict
        It is finished or discarded.
    """
    return _moved(draft, member, (CallState.OPEN,), {"member": member, "updated_at": now})


def draft_discard(*, draft: CallDraft, member: Member, now: datetime) -> CallDraft:
    """Put a call away; for a day it can be brought back.

    Raises
    ------
    Conflict
        It is closed already, or another person has it in hand.
    """
    if draft.member_id != member.pk:
        raise Conflict(_("%s has this call in hand; take it over first.") % draft.member.name)
    return _moved(
        draft,
        member,
        (CallState.OPEN,),
        {"state": CallState.DISCARDED, "updated_at": now},
        whose=member,
    )


def draft_bring_back(*, draft: CallDraft, member: Member, now: datetime) -> CallDraft:
    """Undo a discard: the call is open again, in the hands of who brought it back.

    Raises
    ------
    Conflict
        It was not discarded.
    """
    changes = {"state": CallState.OPEN, "member": member, "updated_at": now}
    return _moved(draft, member, (CallState.DISCARDED,), changes)


def draft_quoted(
    *, draft: CallDraft, member: Member, quote: Quote, quoted: str, form: Form, now: datetime
) -> None:
    """Note the quote that came of a call which goes on, and the caller it wrote down."""
    CallDraft.objects.filter(pk=draft.pk, shop=member.shop).update(
        quote=quote, quoted=quoted, form=_bounded(form), updated_at=now
    )


def draft_finish(
    *,
    member: Member,
    key: UUID,
    now: datetime,
    quote: Quote | None = None,
    job: Job | None = None,
) -> None:
    """Close a call that came to a quote or a booking; one that was never kept is no matter."""
    changes: dict[str, Any] = {"state": CallState.FINISHED, "updated_at": now}
    changes |= {"quote": quote} if quote else {}
    changes |= {"job": job} if job else {}
    CallDraft.objects.of(member.shop).filter(key=key, state=CallState.OPEN).update(**changes)


def drafts_clear(*, now: datetime) -> int:
    """Delete what nobody will go on with; returns how many."""
    old = CallDraft.objects.filter(updated_at__lt=now - timedelta(days=KEPT_DAYS))
    closed = CallDraft.objects.exclude(state=CallState.OPEN).filter(
        updated_at__lt=now - timedelta(days=CLOSED_DAYS)
    )
    return int(old.delete()[0] + closed.delete()[0])


def _moved(
    draft: CallDraft,
    member: Member,
    states: tuple[CallState, ...],
    changes: dict[str, Any],
    whose: Member | None = None,
) -> CallDraft:
    # Race: two people do something to one call. The update says from which state it
    # goes; the second finds no row.
    rows = CallDraft.objects.of(member.shop).filter(pk=draft.pk, state__in=states)
    if whose is not None:
        rows = rows.filter(member=whose)
    if not rows.update(**changes):
        found = CallDraft.objects.of(member.shop).filter(pk=draft.pk).first()
        state = found.get_state_display().lower() if found else _("gone")
        raise Conflict(_("This call is %s by now.") % state)
    for name, value in changes.items():
        setattr(draft, name, value)
    return draft
