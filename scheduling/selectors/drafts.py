"""Calls under way, for the head of the quote desk."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from scheduling.models import CallDraft, CallState
from shop.models import Member, Shop

MOST_SHOWN: Final = 12
UNDO_MINUTES: Final = 60


@dataclass(frozen=True)
class Drafts:
    """Open calls, the last touched first, and what this member has just put away."""

    open: list[CallDraft]
    discarded: list[CallDraft]


def drafts_of(shop: Shop, member: Member, now: datetime) -> Drafts:
    """Calls to go on with, and those ``member`` may want back. One query."""
    since = now - timedelta(minutes=UNDO_MINUTES)
    rows = CallDraft.objects.of(shop).select_related("member")
    undone = rows.filter(state=CallState.DISCARDED, member=member, updated_at__gte=since)
    found = list((rows.filter(state=CallState.OPEN) | undone)[: MOST_SHOWN + 3])
    return Drafts(
        open=[row for row in found if row.state == CallState.OPEN][:MOST_SHOWN],
        discarded=[row for row in found if row.state == CallState.DISCARDED][:3],
    )


def draft_found(shop: Shop, key: UUID) -> CallDraft | None:
    """One call with all that the desk shows of it."""
    rows = CallDraft.objects.of(shop).select_related("member", "quote__customer", "job", "shop")
    return rows.filter(key=key).first()
