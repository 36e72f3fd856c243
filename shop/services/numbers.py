"""Numbers of quotes and jobs: without gaps inside a committed series, never twice."""

from __future__ import annotations

from django.db import transaction

from shop.models import Counter, Shop


@transaction.atomic
def number_next(*, shop: Shop, series: str) -> str:
    """Return the next number of ``series``, such as ``J-0042``.

    Race: two bookings at once. The counter's row is locked until the caller's
    transaction ends, so the second waits and gets the number after.
    """
    Counter.objects.get_or_create(shop=shop, series=series)
    counter = Counter.objects.select_for_update().get(shop=shop, series=series)
    counter.value += 1
    counter.save(update_fields=["value"])
    return f"{series}-{counter.value:04d}"
