"""Photographs of a vehicle, kept in their rows: one truth, and every backup carries them."""

from __future__ import annotations

from typing import Final

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from estimating.models.inspections import Inspection
from shop.models import Member
from shop.models.base import ShopOwned

MOST_SIDE_PX: Final = 2048
MOST_BYTES: Final = 400_000


class PhotoStage(models.TextChoices):
    BEFORE = "before", _("Before the work")
    AFTER = "after", _("After the work")


class Photo(ShopOwned):
    """One photograph, encoded anew when it came: nothing of the camera's notes is left in it.

    ``panel`` and ``kind`` are empty where it shows the whole vehicle. A removed
    photograph stays for a while, so that it can be put back.
    """

    inspection = models.ForeignKey(Inspection, on_delete=models.CASCADE, related_name="photos")
    panel = models.CharField(max_length=24, blank=True)
    kind = models.CharField(max_length=20, blank=True, help_text=_("The finding that it shows."))
    stage = models.CharField(max_length=6, choices=PhotoStage, default=PhotoStage.BEFORE)
    taken_at = models.DateTimeField()
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    digest = models.CharField(max_length=64, help_text=_("SHA-256 of the photograph."))
    width = models.PositiveSmallIntegerField()
    height = models.PositiveSmallIntegerField()
    image = models.BinaryField(help_text=_("JPEG."))
    small = models.BinaryField(help_text=_("JPEG for lists."))
    removed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["taken_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["inspection", "panel", "digest"], name="photo_once"),
            models.CheckConstraint(
                condition=Q(width__gte=1, width__lte=MOST_SIDE_PX)
                & Q(height__gte=1, height__lte=MOST_SIDE_PX),
                name="photo_bounded",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.panel or self.inspection_id} {self.taken_at:%Y-%m-%d}"
