"""Write and release holds; say what is in the way of new ones."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Any, Final, NamedTuple

from django.db import IntegrityError
from django.utils.translation import gettext as _

from scheduling.models import Hold, KeptSlot, Resource, ResourceKind
from scheduling.services.holder import Holder, of_others
from scheduling.services.lapse import slots_lapse
from scheduling.services.offers import Held
from scheduling.services.when import moment_text, stretch_text
from shop.models import Job, Operation, Shop

OVERLAP: Final = "hold_never_overlaps"
"""Name of the exclusion constraint on PostgreSQL and message of the trigger on SQLite."""
_SAID_AT_MOST: Final = 4


class Taken(NamedTuple):
    """What somebody has: a job by its number, or a kept slot until when it is kept."""

    resource: str
    job: str
    kept_until: datetime | None
    start: datetime
    end: datetime

    @classmethod
    def of(cls, hold: Hold) -> Taken:
        """Say whose a hold is; its resource, job and slot are read already."""
        job = hold.job.number if hold.job else ""
        until = hold.kept.kept_until if hold.kept else None
        return cls(hold.resource.name, job, until, hold.start, hold.end)


def holds_write(*, holder: Holder, held: Sequence[Held], now: datetime) -> None:
    """Write the holds of a booking or of a kept slot. The database refuses what overlaps.

    Race: two bookings want one bay. PostgreSQL lets both insert and then look, so
    that each would wait for the other; locking the resources first, always in the
    order of their keys, makes the second wait for the first to commit. The
    constraint then decides, also against whoever writes without the lock. What was
    kept for a caller until ``now`` is in nobody's way any more.
    """
    resources_lock(one.resource.pk for one in held)
    slots_lapse(now=now, shop=holder.shop)
    job = holder if isinstance(holder, Job) else None
    slot = holder if isinstance(holder, KeptSlot) else None
    operations = {row.sequence: row for row in Operation.objects.filter(job=job)} if job else {}
    rows = [
        Hold(
            shop_id=holder.shop_id,
            resource=one.resource,
            job=job,
            kept=slot,
            operation=operations[one.sequence] if job and one.sequence is not None else None,
            purpose=one.purpose,
            start=one.start,
            end=one.end,
        )
        for one in sorted(held, key=lambda one: (one.resource.pk, one.start))
    ]
    Hold.objects.bulk_create(rows)


def resources_lock(keys: Iterable[int]) -> None:
    """Lock resources inside the caller's transaction, in the order in which everybody does."""
    wanted = sorted(set(keys))
    list(Resource.objects.select_for_update(no_key=True).filter(pk__in=wanted).order_by("pk"))


def minute_after(now: datetime) -> datetime:
    """Return the first whole minute from ``now`` on."""
    minute = now.replace(second=0, microsecond=0)
    return minute if minute == now else minute + timedelta(minutes=1)


def holds_release(*, holds: Iterable[Hold], now: datetime) -> None:
    """Give back what is left of holds from the minute after ``now``; what is over stays.

    The calendar knows no seconds: a hold that ended within a minute would be in the
    way of one that begins with it.
    """
    free_from = minute_after(now)
    for hold in holds:
        if hold.start >= free_from:
            hold.delete()
        elif hold.end > free_from:
            hold.end = free_from
            hold.save(update_fields=["end"])


def operation_holds_release(*, operation: Operation, now: datetime) -> None:
    """Give back people and lamps of an operation that is done before its time."""
    kinds = (ResourceKind.TECHNICIAN, ResourceKind.LAMP)
    mine = Hold.objects.filter(operation=operation, resource__kind__in=kinds, end__gt=now)
    holds_release(holds=mine, now=now)


def job_holds_release(*, job: Job, now: datetime) -> None:
    """Give back everything that a job still holds: the vehicle has gone."""
    holds_release(holds=Hold.objects.filter(job=job, end__gt=now), now=now)


def is_overlap(error: IntegrityError) -> bool:
    """Whether the database refused a hold because another has the resource."""
    return OVERLAP in str(error)


def in_the_way(
    *, shop: Shop, held: Sequence[Held], ignoring: Holder | None = None
) -> list[tuple[Held, Hold]]:
    """Return pairs of a wanted hold and an existing one that overlaps it, in order of time."""
    if not held:
        return []
    there = Hold.objects.of(shop).filter(
        resource__in={one.resource.pk for one in held},
        start__lt=max(one.end for one in held),
        end__gt=min(one.start for one in held),
    )
    there = of_others(there, ignoring)
    others: dict[int, list[Hold]] = {}
    for hold in there.select_related("resource", "job", "kept").order_by("start"):
        others.setdefault(hold.resource_id, []).append(hold)
    return [
        (one, hold)
        for one in sorted(held, key=lambda one: one.start)
        for hold in others.get(one.resource.pk, ())
        if hold.start < one.end and one.start < hold.end
    ]


def in_the_way_text(pairs: Sequence[tuple[Held, Hold]], shop: Shop) -> list[str]:
    """Say which resource is kept for whom, from when to when on the shop's clock."""
    return taken_text([Taken.of(hold) for _wanted, hold in pairs], shop)


def taken_text(taken: Iterable[Taken], shop: Shop) -> list[str]:
    """Say who has what, each thing once and not too many."""
    said = dict.fromkeys(_taken_text(one, shop) for one in taken)
    return list(said)[:_SAID_AT_MOST]


def busy_at(
    shop: Shop, operations: Sequence[Operation], at: datetime, ignoring: Holder | None = None
) -> list[Taken]:
    """Return who has, at a moment, a bay in which the first of some operations could begin."""
    rows = Hold.objects.of(shop).filter(
        resource__kind=ResourceKind.BAY, resource__active=True, start__lte=at, end__gt=at
    )
    found = of_others(rows, ignoring).select_related("resource", "job", "kept").order_by("start")
    wanted = operations[0].bay_capability if operations else ""
    return [Taken.of(hold) for hold in found if wanted in hold.resource.capabilities]


def _taken_text(taken: Taken, shop: Shop) -> str:
    names = {
        "resource": taken.resource,
        "job": taken.job,
        "when": stretch_text(taken.start, taken.end, shop),
    }
    if taken.kept_until is None:
        return _("%(resource)s is kept for %(job)s, %(when)s.") % names
    names["until"] = moment_text(taken.kept_until, shop)
    return _("%(resource)s is kept for another caller until %(until)s, %(when)s.") % names


def holds_record(job: Job) -> list[dict[str, Any]]:
    """Return a job's holds as they go into its event: the rows themselves may be deleted."""
    rows = Hold.objects.filter(job=job).select_related("resource").order_by("start", "pk")
    return [
        {
            "resource": row.resource.name,
            "start": row.start.isoformat(),
            "end": row.end.isoformat(),
        }
        for row in rows
    ]
