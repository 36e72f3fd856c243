"""The messages of a shop: due, sent, failed, withdrawn."""

from __future__ import annotations

from collections.abc import Collection

from scheduling.models import Reminder
from shop.models import Shop


def reminders_list(
    shop: Shop,
    *,
    states: Collection[str] = (),
    purposes: Collection[str] = (),
    limit: int = 200,
) -> list[Reminder]:
    """Return messages with customer, job and vehicle in one query, the next due first.

    Parameters
    ----------
    states, purposes
        Only these; all where none is named.
    limit
        At most so many.
    """
    rows = Reminder.objects.of(shop).select_related("customer", "job__vehicle")
    if states:
        rows = rows.filter(state__in=states)
    if purposes:
        rows = rows.filter(purpose__in=purposes)
    return list(rows.order_by("due_at", "pk")[:limit])
