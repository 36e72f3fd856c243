"""Coating systems and what stands on the shelf."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from shop.models.base import ShopOwned
from shop.models.catalogue_base import CatalogueRow, code_field, row_meta


class CoatingSystem(CatalogueRow):
    """A coating system: cure at a reference temperature, and the climate it stands."""

    code = code_field()
    name = models.CharField(max_length=80)
    note = models.TextField(blank=True)
    reference_c = models.FloatField()
    q10 = models.FloatField(help_text="Factor of the curing rate for ten degrees.")
    handover_hours = models.FloatField()
    first_wash_hours = models.FloatField()
    full_cure_hours = models.FloatField()
    least_c = models.FloatField()
    most_c = models.FloatField()
    most_humidity = models.FloatField(help_text="Share between 0 and 1.")
    dew_margin_c = models.FloatField(help_text="Surface above dew point by at least this.")

    class Meta(CatalogueRow.Meta):
        constraints = row_meta("coating_system", "code")

    def __str__(self) -> str:
        return self.name


class CoatingLayer(CatalogueRow):
    """One layer: how much is spread, how long it takes, when the next may follow."""

    key = ("system", "order")

    system = code_field()
    order = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=60)
    product = code_field()
    volume_solids = models.FloatField()
    dry_film_um = models.FloatField()
    loss_share = models.FloatField()
    minutes_per_m2 = models.FloatField()
    sigma = models.FloatField()
    flash_minutes = models.PositiveIntegerField()
    recoat_least_minutes = models.PositiveIntegerField()
    recoat_most_minutes = models.PositiveIntegerField()
    crew = models.PositiveSmallIntegerField()
    lamps = models.PositiveSmallIntegerField(default=0)

    class Meta(CatalogueRow.Meta):
        constraints = row_meta("coating_layer", "system", "order")


class Consumable(ShopOwned):
    """A thing on the shelf, its cost by unit and how it is bought again.

    One row for one thing, without versions, since stock is counted on it; every
    quote and every use copies the unit cost of its day.
    """

    code = code_field()
    name = models.CharField(max_length=80)
    unit = models.CharField(max_length=12)
    unit_cost = models.DecimalField(max_digits=12, decimal_places=5)
    purchase_size = models.FloatField(help_text="Units in one pack.")
    on_hand = models.DecimalField(max_digits=12, decimal_places=4)
    reorder_point = models.FloatField()
    lot_size = models.FloatField()
    lead_days = models.PositiveSmallIntegerField()
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["shop", "code"], name="consumable_code_once"),
            models.CheckConstraint(
                condition=Q(unit_cost__gte=0), name="consumable_cost_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return self.name
