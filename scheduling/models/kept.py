"""A quoted visit kept for a caller for some minutes; it lets go by itself.

Its holds are ordinary rows of :class:`scheduling.models.holds.Hold`, so that the
database's own rule keeps everybody else out. A slot whose time has passed is deleted by
whoever needs the place, in their transaction, and otherwise by the clock.
"""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from estimating.models import Quote
from shop.models import Member
from shop.models.base import ShopOwned


class KeptSlot(ShopOwned):
    """One visit kept until ``kept_until``.

    ``offer`` is the visit as it was told to the caller and ``work`` what it was found for:
    it can be booked as it stands for the same work only.
    """

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="+")
    quote = models.OneToOneField(
        Quote, on_delete=models.CASCADE, null=True, blank=True, related_name="kept_slot"
    )
    said = models.CharField(max_length=120, blank=True)
    """For whom, in the words of the desk."""
    arrives_at = models.DateTimeField()
    kept_at = models.DateTimeField()
    kept_until = models.DateTimeField()
    offer = models.JSONField()
    work = models.JSONField()

    class Meta:
        ordering = ["kept_until", "pk"]
        indexes = [models.Index(fields=["shop", "kept_until"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(kept_until__gt=F("kept_at")), name="kept_slot_runs_forward"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.arrives_at:%Y-%m-%d %H:%M} {self.said}".rstrip()
