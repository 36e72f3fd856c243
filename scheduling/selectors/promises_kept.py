"""Whether promises are kept: of those of a probability, the share that was met."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Final

from django.db.models import Max, Q

from shop.models import Job, JobState, Shop

BANDS: Final = (0.0, 0.7, 0.8, 0.85, 0.9, 0.95, 1.0)
"""Edges of the bands of probability; the last one holds certainty as well."""
LOOK_BACK: Final = timedelta(days=365)
ENOUGH: Final = 20
"""Below so many promises a share says little (common practice, no source)."""


@dataclass(frozen=True)
class Band:
    """Promises told with a probability in ``[low, high)``; ``said`` is their mean."""

    low: float
    high: float
    promises: int
    met: int
    said: float

    @property
    def share_met(self) -> float:
        """Share of the promises that was met."""
        return self.met / self.promises

    @property
    def enough(self) -> bool:
        """Whether there are enough of them to go by."""
        return self.promises >= ENOUGH


def promises_kept(shop: Shop, now: datetime) -> tuple[Band, ...]:
    """Return the bands in which promises of the last year fall, lowest first, in one query.

    Only vehicles that were handed over count. One was ready when its job became ready for the
    last time: work that went on afterwards had not been finished. The promise is the last one
    that the customer was told.
    """
    rows = (
        Job.objects.of(shop)
        .filter(
            state__in=(JobState.HANDED_OVER, JobState.CLOSED),
            promised_at__gt=now - LOOK_BACK,
            promise_probability__isnull=False,
        )
        .annotate(really=Max("events__at", filter=Q(events__to_state=JobState.READY)))
        .exclude(really=None)
        .order_by()
        .values_list("promise_probability", "promised_at", "really")
    )
    told = [(float(share), really <= promised) for share, promised, really in rows]
    return tuple(
        _band(low, high, inside)
        for low, high in pairwise(BANDS)
        if (inside := [one for one in told if low <= one[0] < high or one[0] == high == 1])
    )


def _band(low: float, high: float, told: Sequence[tuple[float, bool]]) -> Band:
    return Band(
        low=low,
        high=high,
        promises=len(told),
        met=sum(met for _, met in told),
        said=sum(share for share, _ in told) / len(told),
    )
