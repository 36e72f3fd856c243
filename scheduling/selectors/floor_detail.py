"""What the floor's cards say beyond the floor itself: time worked, materials planned and used."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import OuterRef, Prefetch, Subquery, Sum, prefetch_related_objects
from django.db.models.functions import Coalesce

from shop.models import Consumable, Job, MaterialUse, Operation, PlannedMaterial, WorkEntry


@dataclass(frozen=True)
class MaterialInHand:
    """One item that a job expects to need, and how much of it was taken so far."""

    consumable: Consumable
    planned: Decimal
    used: Decimal


def work_fetch(operations: Iterable[Operation]) -> None:
    """Fetch the work entries of ``operations`` with their members, in one query."""
    rows = list(operations)
    if rows:
        entries = WorkEntry.objects.select_related("member")
        prefetch_related_objects(rows, Prefetch("work", entries))


def materials_in_hand(jobs: Iterable[Job]) -> Mapping[int, list[MaterialInHand]]:
    """Return what each job expects to need, by the job's key, in one query."""
    used = (
        MaterialUse.objects.filter(job=OuterRef("job"), consumable=OuterRef("consumable"))
        .order_by()
        .values("consumable")
        .annotate(total=Sum("quantity"))
        .values("total")
    )
    rows = (
        PlannedMaterial.objects.filter(job__in=[job.pk for job in jobs])
        .select_related("consumable")
        .annotate(used=Coalesce(Subquery(used), Decimal(0)))
        .order_by("consumable__name", "pk")
    )
    found: dict[int, list[MaterialInHand]] = {}
    for row in rows:
        line = MaterialInHand(row.consumable, row.quantity, row.used)
        found.setdefault(row.job_id, []).append(line)
    return found
