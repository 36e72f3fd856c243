"""Who holds a place: a job, or a slot kept for a caller."""

from __future__ import annotations

from django.db.models import QuerySet

from scheduling.models import Hold, KeptSlot
from shop.models import Job
from shop.models.base import ShopQuerySet

Holder = Job | KeptSlot


def holds_of(holder: Holder) -> QuerySet[Hold]:
    """Return what a job or a kept slot holds."""
    if isinstance(holder, KeptSlot):
        return Hold.objects.filter(kept=holder)
    return Hold.objects.filter(job=holder)


def of_others(holds: ShopQuerySet, ignoring: Holder | None) -> ShopQuerySet:
    """Leave out of a query of holds what one holder has; an unsaved one has nothing."""
    if ignoring is None or ignoring.pk is None:
        return holds
    if isinstance(ignoring, KeptSlot):
        return holds.exclude(kept=ignoring)
    return holds.exclude(job=ignoring)
