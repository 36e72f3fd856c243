"""Rows of the catalogue: flat tables that point at one another by code.

A row holds from ``effective_from`` until ``effective_to`` (exclusive); the
newest that has begun wins. A price or rate is changed by adding a row, so that
what held on any day can still be read. Quotes copy the rows they used, so
nothing that happens here reaches back into a quote.
"""

from __future__ import annotations

from datetime import date
from typing import Any, ClassVar, Self

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from shop.models.base import ShopOwned, ShopQuerySet


class CatalogueQuerySet(ShopQuerySet):
    """Rows by the day on which they hold."""

    def in_effect(self, day: date) -> Self:
        """Rows that hold on ``day``, oldest first; callers keep the last for each key."""
        begun = Q(effective_from__lte=day)
        not_over = Q(effective_to__isnull=True) | Q(effective_to__gt=day)
        return self.filter(begun & not_over).order_by("position", "effective_from", "pk")


class CatalogueRow(ShopOwned):
    """Base of every catalogue table. ``key`` names the fields that identify a row."""

    key: ClassVar[tuple[str, ...]] = ("code",)

    effective_from = models.DateField(_("holds from"))
    effective_to = models.DateField(_("holds until"), null=True, blank=True)
    position = models.PositiveSmallIntegerField(default=0)

    objects: ClassVar[Any] = CatalogueQuerySet.as_manager()

    class Meta:
        abstract = True
        ordering = ["position", "pk"]

    def __str__(self) -> str:
        return " ".join(str(getattr(self, name)) for name in self.key)


def row_meta(table: str, *key: str) -> list[models.BaseConstraint]:
    """The constraints that every catalogue table has; ``table`` prefixes their names."""
    return [
        models.UniqueConstraint(
            fields=["shop", *key, "effective_from"], name=f"{table}_once_from_a_day"
        ),
        models.CheckConstraint(
            condition=Q(effective_to__isnull=True) | Q(effective_to__gt=F("effective_from")),
            name=f"{table}_holds_some_time",
        ),
    ]


def code_field(**options: Any) -> models.CharField[Any, Any]:
    """A short code by which rows point at one another."""
    return models.CharField(max_length=40, **options)
