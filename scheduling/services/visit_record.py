"""A booked visit as plain data, exactly as it stands, so that it can be put back."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from scheduling.models import Hold, Resource
from scheduling.services.offers import Held, Offer, Step
from shop.models import Job, Operation


def visit_record(job: Job) -> dict[str, Any]:
    """Return holds, work and times of a booked job; see :func:`offer_of_record`."""
    holds = Hold.objects.filter(job=job).order_by("start", "pk")
    rows = Operation.objects.filter(job=job, planned_start__isnull=False)
    share = job.promise_probability
    return {
        "arrives_at": _text(job.arrives_at),
        "ready_at": _text(job.ready_at),
        "promised_at": _text(job.promised_at),
        "sure": None if share is None else str(share),
        "pay": str(job.overtime_pay),
        "holds": [
            [hold.resource_id, _text(hold.start), _text(hold.end), sequence, hold.purpose]
            for hold, sequence in zip(
                holds, holds.values_list("operation__sequence", flat=True), strict=True
            )
        ],
        "steps": [
            [row.sequence, _text(row.planned_start), _text(row.planned_end or row.planned_start)]
            for row in rows
        ],
    }


def offer_of_record(record: dict[str, Any]) -> Offer:
    """Return the visit of a record as an offer that can be written."""
    units = Resource.objects.in_bulk({row[0] for row in record["holds"]})
    share = record["sure"]
    return Offer(
        arrives_at=_moment(record["arrives_at"]),
        ready_at=_moment(record["ready_at"]),
        pick_up_at=_moment(record["promised_at"]),
        promised_at=_moment(record["promised_at"]),
        promise_probability=None if share is None else Decimal(share),
        steps=tuple(
            Step(sequence, _moment(start), _moment(end), "", ())
            for sequence, start, end in record["steps"]
        ),
        holds=tuple(
            Held(units[key], _moment(start), _moment(end), sequence, purpose)
            for key, start, end, sequence, purpose in record["holds"]
        ),
        overtime_pay=Decimal(record["pay"]),
    )


def _text(at: datetime | None) -> str | None:
    return None if at is None else at.isoformat()


def _moment(text: str) -> datetime:
    return datetime.fromisoformat(text)
