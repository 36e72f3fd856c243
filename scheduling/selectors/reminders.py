"""The messages of a shop: due, sent, failed, withdrawn."""

from __future__ import annotations

from collections.abc import Collection

from django.db.models import Count

from scheduling.models import Reminder
from shop.models import Shop


def reminders_list(
    shop: Shop,
    *,
    states: Collection[str] = (),
    purposes: Collection[str] = (),
    limit: int = 200,
    newest_first: bool = False,
) -> list[Reminder]:
    """Return messages with reader, job or quote and vehicle in one query, the next due first.

    Parameters
    ----------
    states, purposes
        Only these; all where none is named.
    limit
        At most so many.
    newest_first
        The latest due first, for what is over.
    """
    rows = Reminder.objects.of(shop).select_related(
        "customer", "member", "job__vehicle", "quote__vehicle"
    )
    if states:
        rows = rows.filter(state__in=states)
    if purposes:
        rows = rows.filter(purpose__in=purposes)
    order = ("-due_at", "-pk") if newest_first else ("due_at", "pk")
    return list(rows.order_by(*order)[:limit])


def reminders_count(shop: Shop) -> dict[str, int]:
    """Return how many messages are in each state, in one query."""
    rows = Reminder.objects.of(shop).order_by().values_list("state").annotate(n=Count("pk"))
    return dict(rows)
