"""What changed in a shop's calendar, written by the database itself.

A log and not a counter: a row that every booking updates would make the bookings of a
shop wait for one another and could deadlock with the rows they hold. Rows that are only
added touch nobody. See ``scheduling/calendar_watch.py`` and
``scheduling/services/calendar_kept.py``.
"""

from __future__ import annotations

from django.db import models

from shop.models import Shop


class CalendarChange(models.Model):
    """Holds changed between ``start`` and ``end``; without times everything may have.

    No constraint ties it to its shop: it is written as well while a shop is being removed.
    """

    shop = models.ForeignKey(
        Shop, on_delete=models.DO_NOTHING, db_constraint=False, db_index=False, related_name="+"
    )
    at = models.DateTimeField()
    start = models.DateTimeField(null=True)
    end = models.DateTimeField(null=True)
    writer = models.BigIntegerField(default=0)
    """Number of the transaction on PostgreSQL, where a lower id may be committed later."""
    token = models.BigIntegerField()
    """Random: an id may come a second time after tables were emptied."""

    class Meta:
        indexes = [
            models.Index(fields=["shop", "writer"]),
            models.Index(fields=["at"]),
        ]

    def __str__(self) -> str:
        return f"{self.shop_id} {self.start or 'everything'}"
