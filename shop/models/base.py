"""What every record has in common: it belongs to one shop."""

from __future__ import annotations

from typing import Any, Self

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models


class ShopQuerySet(models.QuerySet[Any]):
    """Rows of one shop at a time; nothing reads across shops."""

    def of(self, shop: Any) -> Self:
        return self.filter(shop=shop)


class ShopOwned(models.Model):
    """Base of records that carry their shop themselves.

    Children that cannot exist without a parent (a pass of a level, a spot of a
    panel) reach the shop through it and do not repeat the key.
    """

    shop = models.ForeignKey("shop.Shop", on_delete=models.PROTECT, related_name="+")

    objects = ShopQuerySet.as_manager()

    class Meta:
        abstract = True


def money_field(**options: Any) -> models.DecimalField[Any, Any]:
    """Amount in the shop's currency; three places hold every ISO 4217 minor unit in use."""
    return models.DecimalField(max_digits=12, decimal_places=3, **options)


def share_field(**options: Any) -> models.DecimalField[Any, Any]:
    """Share between 0 and 1."""
    validators = [MinValueValidator(0), MaxValueValidator(1)]
    return models.DecimalField(max_digits=6, decimal_places=5, validators=validators, **options)


def in_range(field: str, low: float, high: float) -> models.Q:
    """Condition of a check constraint: ``low <= field <= high``."""
    return models.Q(**{f"{field}__gte": low, f"{field}__lte": high})
