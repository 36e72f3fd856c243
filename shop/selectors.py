"""Reads of the shop's records: finding a customer, costing a job."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from typing import Final

from django.core.exceptions import ValidationError
from django.db.models import Case, Exists, IntegerField, OuterRef, Q, Value, When
from django.db.models.functions import Replace, Upper

from shop.costing import (
    Compared,
    EstimatedCost,
    JobCosting,
    MaterialLine,
    OperationHours,
    Rates,
    cost_job,
    hours_of,
)
from shop.models import (
    Attendance,
    Customer,
    Job,
    MaterialUse,
    Operation,
    PlannedMaterial,
    Shop,
    Vehicle,
    WorkEntry,
)
from shop.money import rounded
from shop.phones import to_e164

_MOST_FOUND: Final = 50
_LONGEST_TEXT: Final = 100
_MOST_WORDS: Final = 6
# Two digits are in nearly every number; they would find everybody.
_FEWEST_DIGITS: Final = 3
_ZERO: Final = Decimal(0)


def customers_search(shop: Shop, text: str, limit: int = 10) -> list[Customer]:
    """Customers of ``shop`` that fit what a caller said, with their vehicles fetched.

    Every word must be found in the name, the e-mail address, a vehicle's
    description or plate, or among the digits of the phone; or the whole text is a
    phone number or a plate, however it is spaced. Names that start with
    the text come first. Two queries, whatever is found.

    Parameters
    ----------
    text
        At least two characters; longer than 100 is cut.
    limit
        At most this many, never more than 50.
    """
    text = " ".join(text.replace("\x00", " ").split())[:_LONGEST_TEXT]
    if len(text) < 2:
        return []
    words = text.split()[:_MOST_WORDS]
    every_word = Q()
    for word in words:
        every_word &= _fits(shop, word)
    starts_first = Case(
        When(name__istartswith=text, then=Value(0)), default=Value(1), output_field=IntegerField()
    )
    found = (
        Customer.objects.of(shop)
        .filter(every_word | _whole(shop, text))
        .order_by(starts_first, "name", "pk")
        .prefetch_related("vehicles")
    )
    return list(found[: max(0, min(limit, _MOST_FOUND))])


def _fits(shop: Shop, word: str) -> Q:
    condition = Q(name__icontains=word) | Q(email__icontains=word)
    condition |= Q(_has_vehicle(shop, Q(description__icontains=word) | _plate(word)))
    # A word with letters in it is no piece of a phone number.
    if not any(letter.isalpha() for letter in word):
        condition |= _phone_digits(word)
    return condition


def _whole(shop: Shop, text: str) -> Q:
    condition = Q(_has_vehicle(shop, _plate(text))) | _phone_digits(text)
    try:
        condition |= Q(phone=to_e164(text, shop.country))
    except ValidationError:
        return condition
    return condition


def _phone_digits(text: str) -> Q:
    digits = "".join(re.findall("[0-9]", text))
    # A number dialled inside a country may start with a zero that E.164 drops.
    digits = digits.lstrip("0") if text.strip().startswith("0") else digits
    if len(digits) < _FEWEST_DIGITS or any(letter.isalpha() for letter in text):
        return Q(pk__in=[])
    return Q(phone__contains=digits)


def _plate(text: str) -> Q:
    bare = "".join(letter for letter in text.upper() if letter.isalnum())
    return Q(bare_plate__contains=bare) if len(bare) > 1 else Q(pk__in=[])


def _has_vehicle(shop: Shop, condition: Q) -> Exists:
    bare = Replace(Replace(Upper("plate"), Value(" ")), Value("-"))
    rows = Vehicle.objects.of(shop).filter(customer=OuterRef("pk"))
    return Exists(rows.annotate(bare_plate=bare).filter(condition))


def job_costing(job: Job, now: datetime) -> JobCosting:
    """What ``job`` cost up to ``now`` beside what it was estimated to cost.

    Estimated hours are the medians of the operations. Actual labour is
    the sum of work entries, an open one counted up to ``now``. A bay is charged, as
    in the estimate, while somebody is at the vehicle (two people at once count
    once) and while a coat flashes before the next; nights and breaks, when it
    merely stands, and the cure are not. Four queries, whatever the job's size.

    Parameters
    ----------
    now
        Aware UTC instant.
    """
    return costing_of_rows(
        job=job,
        operations=list(job.operations.order_by("sequence").prefetch_related("work")),
        planned=job.planned_materials.select_related("consumable"),
        used=job.materials_used.select_related("consumable"),
        now=now,
    )


def costing_of_rows(
    *,
    job: Job,
    operations: list[Operation],
    planned: Iterable[PlannedMaterial],
    used: Iterable[MaterialUse],
    now: datetime,
) -> JobCosting:
    """The sheet of :func:`job_costing` from rows that a page has read already.

    Operations come in order with their work entries, materials with their items.
    """
    rates = Rates(job.currency, job.labour_rate, job.bay_rate, job.overhead_rate)
    return cost_job(
        rates=rates,
        price=job.price,
        estimated=EstimatedCost(
            job.estimated_labour,
            job.estimated_bay,
            job.estimated_materials,
            job.estimated_overhead,
            job.card_fee,
            job.overtime_pay,
        ),
        operations=_operation_hours(operations, now),
        material_lines=_material_lines(job.currency, planned, used),
        running=any(entry.ended_at is None for row in operations for entry in row.work.all()),
    )


def _operation_hours(operations: list[Operation], now: datetime) -> list[OperationHours]:
    rows = []
    before: Operation | None = None
    for operation in operations:
        attended = operation.attendance != Attendance.UNATTENDED
        entries = list(operation.work.all())
        planned = operation.minutes_p50 * 60
        waited = operation.lag_min_minutes * 60
        rows.append(
            OperationHours(
                sequence=operation.sequence,
                name=operation.name,
                kind=operation.kind,
                state=operation.state,
                labour=Compared(
                    hours_of(planned * operation.crew_count),
                    hours_of(sum(_seconds(entry, now) for entry in entries)),
                ),
                bay=Compared(
                    hours_of(planned * attended + waited),
                    hours_of(_seconds_of_any(entries, now) + _flash_seconds(before, operation)),
                ),
            )
        )
        before = operation
    return rows


def _seconds(entry: WorkEntry, now: datetime) -> float:
    """Length of a stretch; one that begins after ``now`` has none."""
    return max(0.0, ((entry.ended_at or now) - entry.started_at).total_seconds())


def _seconds_of_any(entries: Iterable[WorkEntry], now: datetime) -> float:
    """Length of the union of stretches: time with at least one person at work."""
    total, reached = 0.0, None
    for entry in sorted(entries, key=lambda entry: entry.started_at):
        start, end = entry.started_at, entry.ended_at or now
        start = max(start, reached) if reached else start
        total += max(0.0, (end - start).total_seconds())
        reached = max(reached, end) if reached else end
    return total


def _flash_seconds(before: Operation | None, operation: Operation) -> float:
    """Wait between two coats as it was, but no longer than the recoat window."""
    if before is None or operation.lag_min_minutes == 0:
        return 0.0
    if before.finished_at is None or operation.started_at is None:
        return 0.0
    waited = (operation.started_at - before.finished_at).total_seconds()
    most = operation.lag_max_minutes
    if most is None:
        most = operation.lag_min_minutes
    return min(max(0.0, waited), most * 60.0)


def _material_lines(
    currency: str, planned_rows: Iterable[PlannedMaterial], use_rows: Iterable[MaterialUse]
) -> list[MaterialLine]:
    planned = {row.consumable_id: row for row in planned_rows}
    used: dict[int, list[MaterialUse]] = {}
    for use in use_rows:
        used.setdefault(use.consumable_id, []).append(use)
    items = {pk: row.consumable for pk, row in planned.items()}
    items |= {pk: uses[0].consumable for pk, uses in used.items()}
    lines = []
    for pk, item in sorted(items.items(), key=lambda pair: (pair[1].name, pair[0])):
        plan, uses = planned.get(pk), used.get(pk, [])
        spent = sum((use.quantity * use.unit_cost for use in uses), _ZERO)
        lines.append(
            MaterialLine(
                code=item.code,
                name=item.name,
                unit=plan.unit if plan else item.unit,
                quantity=Compared(
                    plan.quantity if plan else _ZERO, sum((use.quantity for use in uses), _ZERO)
                ),
                cost=Compared(plan.cost if plan else _ZERO, rounded(spent, currency)),
            )
        )
    return lines
