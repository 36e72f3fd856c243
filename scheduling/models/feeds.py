"""Calendar feeds: an address that shows one calendar to whoever has it, and what it has said."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from scheduling.models.resources import Resource
from shop.models import Job, Member
from shop.models.base import ShopOwned


class FeedKind(models.TextChoices):
    BAY = "bay", _("Bay")
    TECHNICIAN = "technician", _("Technician")
    VISIT = "visit", _("Customer's visit")


class CalendarFeed(ShopOwned):
    """One calendar under a secret address.

    The address is not kept, only its SHA-256. The row outlives a withdrawn address,
    so that the same entries keep their UID and go on counting under the next one.
    """

    kind = models.CharField(max_length=10, choices=FeedKind)
    resource = models.OneToOneField(
        Resource, on_delete=models.CASCADE, null=True, blank=True, related_name="feed"
    )
    job = models.OneToOneField(
        Job, on_delete=models.CASCADE, null=True, blank=True, related_name="feed"
    )
    token_hash = models.CharField(
        max_length=64, null=True, blank=True, unique=True, help_text=_("Empty: withdrawn.")
    )
    generation = models.PositiveIntegerField(
        default=0, help_text=_("How often the address was made.")
    )
    namespace = models.UUIDField(default=uuid.uuid4, editable=False)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(kind=FeedKind.VISIT, job__isnull=False, resource__isnull=True)
                | Q(
                    kind__in=[FeedKind.BAY, FeedKind.TECHNICIAN],
                    job__isnull=True,
                    resource__isnull=False,
                ),
                name="feed_is_of_one_thing",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.resource or self.job}"


class FeedEntry(models.Model):
    """What a feed last said about one stretch of time (RFC 5545, a VEVENT).

    Holds are deleted when a visit is moved or cancelled; whoever has seen an entry
    must be told, by the same UID with a higher SEQUENCE (RFC 5545, 3.8.7.4).
    """

    feed = models.ForeignKey(CalendarFeed, on_delete=models.CASCADE, related_name="entries")
    key = models.CharField(max_length=60)
    start = models.DateTimeField()
    end = models.DateTimeField()
    summary = models.CharField(max_length=300)
    place = models.TextField(blank=True)
    description = models.TextField(blank=True)
    cancelled = models.BooleanField(default=False)
    sequence = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField()

    class Meta:
        ordering = ["start", "key"]
        indexes = [models.Index(fields=["feed", "end"])]
        constraints = [
            models.UniqueConstraint(fields=["feed", "key"], name="feed_entry_once"),
            models.CheckConstraint(condition=Q(end__gt=F("start")), name="feed_entry_forward"),
        ]

    def __str__(self) -> str:
        return f"{self.summary} {self.start:%Y-%m-%d %H:%M}"
