"""Keeping photographs of a vehicle, and taking them away again."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from django.db import transaction
from django.utils.translation import gettext as _

from estimating.core import words
from estimating.models import Inspection, Photo, PhotoStage
from estimating.photo_files import photo_prepare
from shop.models import Member
from shop.refusals import Problem, Refused

MOST_PHOTOS: Final = 200
"""Of one inspection."""
KEPT_AFTER_REMOVAL: Final = timedelta(days=30)


def photo_add(
    *,
    inspection: Inspection,
    member: Member,
    now: datetime,
    data: bytes,
    panel: str = "",
    kind: str = "",
    stage: str = PhotoStage.BEFORE,
) -> Photo:
    """Keep a photograph; the same one sent twice, or one removed before, is there once.

    Raises
    ------
    Refused
        It cannot be read, is too large, or what it shows is unknown.
    """
    if inspection.shop_id != member.shop_id:
        raise Refused(Problem(_("This belongs to another shop."), field="inspection"))
    choices = (
        ("panel", panel, ("", *words.PANELS)),
        ("kind", kind, ("", *words.KINDS)),
        ("stage", stage, PhotoStage.values),
    )
    for field, value, allowed in choices:
        if value not in allowed:
            raise Refused(Problem(_("“%s”: choose one of the list.") % value[:40], field=field))
    # Outside of the transaction: it takes long, and SQLite has one writer.
    made = photo_prepare(data)
    with transaction.atomic():
        _forget_old(member, now)
        # Two at once wait here, so that neither is counted past the limit.
        Inspection.objects.select_for_update().get(pk=inspection.pk)
        rows = Photo.objects.filter(inspection=inspection)
        there = rows.filter(panel=panel, digest=made.digest).defer("image", "small").first()
        if there is not None:
            there.removed_at, there.stage, there.kind = None, stage, kind
            there.save(update_fields=["removed_at", "stage", "kind"])
            return there
        if rows.count() >= MOST_PHOTOS:
            message = _("This inspection has %d photographs, the most there can be; remove some.")
            raise Refused(Problem(message % MOST_PHOTOS, field="file"))
        return Photo.objects.create(
            shop=inspection.shop,
            inspection=inspection,
            panel=panel,
            kind=kind,
            stage=stage,
            taken_at=now,
            member=member,
            digest=made.digest,
            width=made.width,
            height=made.height,
            image=made.image,
            small=made.small,
        )


@transaction.atomic
def photo_remove(*, photo: Photo, member: Member, now: datetime) -> None:
    """Take a photograph away; :func:`photo_restore` puts it back within thirty days."""
    _refuse_foreign(photo, member)
    Photo.objects.filter(pk=photo.pk, removed_at=None).update(removed_at=now)
    _forget_old(member, now)


@transaction.atomic
def photo_restore(*, photo: Photo, member: Member) -> None:
    """Put a removed photograph back."""
    _refuse_foreign(photo, member)
    Photo.objects.filter(pk=photo.pk).update(removed_at=None)


def _refuse_foreign(photo: Photo, member: Member) -> None:
    if photo.shop_id != member.shop_id:
        raise Refused(Problem(_("This belongs to another shop."), field="photo"))


def _forget_old(member: Member, now: datetime) -> None:
    Photo.objects.filter(shop=member.shop, removed_at__lt=now - KEPT_AFTER_REMOVAL).delete()
