"""Whether anything that the calendar shows has changed: a stamp that is cheap to ask for."""

from __future__ import annotations

from datetime import datetime
from hashlib import blake2s
from typing import Any, Final

from django.db.models import Count, Subquery

from scheduling.models import CalendarChange, ClimateReading
from shop.models import JobEvent, Shop, WorkEntry

DRAWN_ANEW_SECONDS: Final = 120
"""What is punctual becomes late, and the mark of the present moves. A row that was committed
after one with a higher key is seen by then as well."""


def stamp_parts(shop: Shop) -> dict[str, Subquery]:
    """Return single values to annotate any query with, read in the same moment as its rows."""
    notes = CalendarChange.objects.filter(shop=shop).order_by()
    events = JobEvent.objects.filter(job__shop=shop).order_by("-pk")
    work = WorkEntry.objects.filter(member__shop=shop).order_by("-pk")
    working = work.filter(ended_at=None).order_by().values("member__shop")
    climate = ClimateReading.objects.of(shop).order_by("-pk")
    return {
        "stamp_note": Subquery(notes.order_by("-pk").values("pk")[:1]),
        "stamp_notes": Subquery(notes.values("shop").annotate(n=Count("pk")).values("n")),
        "stamp_event": Subquery(events.values("pk")[:1]),
        "stamp_work": Subquery(work.values("pk")[:1]),
        "stamp_working": Subquery(working.annotate(n=Count("pk")).values("n")),
        "stamp_climate": Subquery(climate.values("pk")[:1]),
    }


def stamp_text(row: Any, shop: Shop, now: datetime) -> str:
    """Return the stamp of a row that was annotated with :func:`stamp_parts`."""
    values = [getattr(row, name) for name in stamp_parts(shop)]
    seen = (values, int(now.timestamp()) // DRAWN_ANEW_SECONDS)
    return blake2s(repr(seen).encode(), digest_size=8).hexdigest()


def calendar_stamp(shop: Shop, now: datetime) -> str:
    """Return a text that is another one as soon as the calendar looks different. One query."""
    row = Shop.objects.filter(pk=shop.pk).annotate(**stamp_parts(shop)).get()
    return stamp_text(row, shop, now)
