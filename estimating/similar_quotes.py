"""What was asked for lately for vehicles like this one."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, Final

from estimating.core.words import LEVELS
from estimating.models import Quote, QuoteState

_LOOKED_AT: Final = 40
_FIELDS: Final = (
    "pk", "number", "version", "title", "state", "created_at", "currency", "price",
    "hours_p50", "cleared", "request__options__coating",
    "request__document__vehicle__age_months", "estimate__panels",
)  # fmt: skip


@dataclass(frozen=True)
class SimilarQuote:
    """An earlier quote beside this one; ``price_ratio`` is its price over this one's."""

    pk: int
    name: str
    title: str
    state: str
    created_at: datetime
    currency: str
    price: Decimal
    price_ratio: float | None
    hours: float
    cleared: float
    age_months: int | None
    same_work: bool


def quotes_similar(quote: Quote, *, limit: int = 3) -> list[SimilarQuote]:
    """The last quotes for similar vehicles. One query, of at most forty rows.

    Of the shop's latest quotes for the same body, before this one and of other
    numbers: those with the same highest level and coating first, then the nearest in
    age, then the newest. Versions that were replaced do not count.
    """
    rows = (
        Quote.objects.of(quote.shop)
        .filter(
            vehicle__body=quote.vehicle.body,
            currency=quote.currency,
            created_at__lte=quote.created_at,
        )
        .exclude(number=quote.number)
        .exclude(state=QuoteState.REPLACED)
        .order_by("-created_at", "-pk")
        .values(*_FIELDS)[:_LOOKED_AT]
    )
    wanted = _Work(
        level=_level(quote.estimate.get("panels")),
        coating=quote.request.get("options", {}).get("coating"),
        age_months=quote.request.get("document", {}).get("vehicle", {}).get("age_months"),
    )
    ranked = sorted(rows, key=lambda row: _distance(_work_of(row), wanted))
    return [_similar(row, wanted, quote.price) for row in ranked[:limit]]


@dataclass(frozen=True)
class _Work:
    """What makes two quotes comparable."""

    level: str
    coating: str | None
    age_months: int | None


def _work_of(row: Mapping[str, Any]) -> _Work:
    return _Work(
        _level(row["estimate__panels"]),
        row["request__options__coating"],
        row["request__document__vehicle__age_months"],
    )


def _level(panels: Any) -> str:
    """The highest level on any panel; a JSON that has none reads as none."""
    return max((panel["level"] for panel in panels or []), key=LEVELS.index, default=LEVELS[0])


def _distance(work: _Work, wanted: _Work) -> tuple[int, float]:
    """How unlike two quotes are: kinds of work that differ, then years between vehicles.

    The sort is stable, so that the newest comes first among equals.
    """
    other = (work.level != wanted.level) + (work.coating != wanted.coating)
    if work.age_months is None or wanted.age_months is None:
        return other, math.inf
    return other, abs(work.age_months - wanted.age_months)


def _similar(row: Mapping[str, Any], wanted: _Work, price: Decimal) -> SimilarQuote:
    work = _work_of(row)
    return SimilarQuote(
        pk=row["pk"],
        name=f"{row['number']} v{row['version']}" if row["version"] > 1 else row["number"],
        title=row["title"],
        state=str(QuoteState(row["state"]).label),
        created_at=row["created_at"],
        currency=row["currency"],
        price=row["price"],
        price_ratio=float(row["price"] / price) if price else None,
        hours=row["hours_p50"],
        cleared=row["cleared"],
        age_months=work.age_months,
        same_work=_distance(work, wanted)[0] == 0,
    )
