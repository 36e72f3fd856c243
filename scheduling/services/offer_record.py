"""An offer as it was told, in JSON and back; and what it was found for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from typing import Any, Final

from scheduling.models import Resource
from scheduling.services.offers import Held, Offer, Step
from scheduling.services.overtime import OvertimeUse
from shop.models import Operation

_WORK: Final = (
    "sequence", "kind", "attendance", "bay_capability", "skill", "crew_count", "lamps",
    "planned_minutes", "lag_min_minutes", "lag_max_minutes", "same_bay",
)  # fmt: skip
_MOMENTS: Final = ("arrives_at", "ready_at", "pick_up_at", "promised_at")


def work_record(operations: Sequence[Operation]) -> list[list[Any]]:
    """Return what decides where work can be done: equal records fit the same places."""
    return [[getattr(row, name) for name in _WORK] for row in operations]


def offer_record(offer: Offer) -> dict[str, Any]:
    """Return an offer as JSON, with resources by key."""
    share = offer.promise_probability
    return {
        **{name: getattr(offer, name).isoformat() for name in _MOMENTS},
        "promise_probability": None if share is None else str(share),
        "steps": [
            [one.sequence, one.start.isoformat(), one.end.isoformat(), one.bay, list(one.crew)]
            for one in offer.steps
        ],
        "holds": [
            [one.resource.pk, one.start.isoformat(), one.end.isoformat(), one.sequence, one.purpose]
            for one in offer.holds
        ],
        "notes": list(offer.notes),
        "overtime": [[one.name, one.minutes, str(one.pay)] for one in offer.overtime],
        "overtime_pay": str(offer.overtime_pay),
    }


def offer_of_record(record: dict[str, Any]) -> Offer:
    """Return the offer of a record; one query for its resources."""
    at = datetime.fromisoformat
    units = Resource.objects.in_bulk({row[0] for row in record["holds"]})
    holds = tuple(
        Held(units[unit], at(start), at(end), sequence, purpose)
        for unit, start, end, sequence, purpose in record["holds"]
    )
    return replace(offer_shown(record), holds=holds)


def offer_shown(record: dict[str, Any]) -> Offer:
    """Return the offer of a record to look at, without its holds; no query."""
    at = datetime.fromisoformat
    share = record["promise_probability"]
    moments = {name: at(record[name]) for name in _MOMENTS}
    return Offer(
        **moments,
        promise_probability=None if share is None else Decimal(share),
        steps=tuple(
            Step(sequence, at(start), at(end), bay, tuple(crew))
            for sequence, start, end, bay, crew in record["steps"]
        ),
        holds=(),
        notes=tuple(record["notes"]),
        overtime=tuple(
            OvertimeUse(name, minutes, Decimal(pay)) for name, minutes, pay in record["overtime"]
        ),
        overtime_pay=Decimal(record["overtime_pay"]),
    )
