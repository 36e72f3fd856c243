"""How far a new shop is set up: what is there, what comes next."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Count, Q

from estimating.models import Quote
from scheduling.models import Resource, ResourceKind
from shop.models import CorrectionLevel, OpeningHours, Shop


@dataclass(frozen=True)
class Start:
    """Facts of the set-up, in the order in which it is done."""

    opening: int
    bays: int
    crew: int
    catalogue: bool
    quotes: int

    @property
    def done(self) -> bool:
        """Whether a quote can be worked out and a place be found for it."""
        return bool(self.opening and self.bays and self.crew and self.catalogue)


def start_of(shop: Shop) -> Start:
    """Look at what a shop has, in four queries."""
    counts = (
        Resource.objects.of(shop)
        .filter(active=True)
        .aggregate(
            bays=Count("pk", filter=Q(kind=ResourceKind.BAY)),
            crew=Count("pk", filter=Q(kind=ResourceKind.TECHNICIAN)),
        )
    )
    return Start(
        opening=OpeningHours.objects.of(shop).count(),
        bays=counts["bays"],
        crew=counts["crew"],
        catalogue=CorrectionLevel.objects.of(shop).exists(),
        quotes=Quote.objects.of(shop).count(),
    )
