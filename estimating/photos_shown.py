"""Photographs as screens show them: without their bytes, by panel, before beside after."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from django.db.models import Q, QuerySet

from estimating.models import Photo, PhotoStage


def photos_of(condition: Q) -> QuerySet[Photo]:
    """Photographs that are not removed, oldest first, without their bytes."""
    return (
        Photo.objects.filter(condition, removed_at=None)
        .defer("image", "small")
        .select_related("member")
    )


def photos_of_job(
    *, vehicle: int, inspection: int | None, since: datetime | None, until: datetime | None
) -> QuerySet[Photo]:
    """Photographs of the inspection that a job rests on, and those taken while it was here."""
    wanted = Q(inspection=inspection)
    if since is not None:
        here = Q(inspection__vehicle=vehicle, taken_at__gte=since)
        wanted |= here & Q(taken_at__lte=until) if until is not None else here
    return photos_of(wanted)


@dataclass
class PhotoRow:
    """Photographs of one panel, or of the whole vehicle where ``panel`` is empty."""

    panel: str
    before: list[Photo] = field(default_factory=list)
    after: list[Photo] = field(default_factory=list)

    @property
    def groups(self) -> tuple[list[Photo], list[Photo]]:
        """Before, then after."""
        return self.before, self.after


def photo_rows(photos: Iterable[Photo]) -> list[PhotoRow]:
    """Photographs by panel in the order of their first one."""
    rows: dict[str, PhotoRow] = {}
    for photo in photos:
        row = rows.setdefault(photo.panel, PhotoRow(photo.panel))
        (row.after if photo.stage == PhotoStage.AFTER else row.before).append(photo)
    return list(rows.values())
