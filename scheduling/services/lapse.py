"""Kept slots let go by themselves: whoever needs the place deletes those whose time has passed."""

from __future__ import annotations

from datetime import datetime

from django.db import OperationalError, connection, transaction
from django.db.models import Exists

from scheduling.models import KeptSlot
from scheduling.services.again import is_broken_off
from shop.models import Shop


def lapsed(now: datetime, shop: Shop) -> Exists:
    """Whether a shop has a kept slot whose time has passed, as a column of another query."""
    return Exists(KeptSlot.objects.filter(shop=shop, kept_until__lte=now))


def slots_let_go(*, now: datetime, shop: Shop) -> None:
    """Let a shop's slots lapse before a search; where others write just now, it may wait."""
    try:
        slots_lapse(now=now, shop=shop)
    except OperationalError as error:
        if connection.in_atomic_block or not is_broken_off(error):
            raise


def slots_lapse(*, now: datetime, shop: Shop | None = None) -> int:
    """Delete the kept slots whose time has passed, of one shop or of all; return how many.

    Race: the clock, a search and a booking may do it at once. Whoever comes second leaves out
    what another has locked; a booking that needs such a place waits for that one to commit,
    because the database's rule waits for it.
    """
    passed = KeptSlot.objects.filter(kept_until__lte=now)
    if shop is not None:
        passed = passed.filter(shop=shop)
    if not passed.exists():
        return 0
    with transaction.atomic():
        rows = passed.select_for_update(skip_locked=True, of=("self",)).order_by("pk")
        mine = list(rows.values_list("pk", flat=True))
        KeptSlot.objects.filter(pk__in=mine).delete()
    return len(mine)
