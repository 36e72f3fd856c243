"""The search for a plan that still waits for somebody."""

from __future__ import annotations

from scheduling.models import PlanRun, PlanRunState
from shop.models import Shop


def plan_open(shop: Shop) -> PlanRun | None:
    """Return the last search that goes on, or whose proposal nobody has answered."""
    rows = PlanRun.objects.of(shop).filter(answered_at=None).exclude(state=PlanRunState.FAILED)
    return rows.first()
