"""What was read and found at the vehicle, as it was entered."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from shop.models import FilmUnit, Member, Vehicle
from shop.models.base import ShopOwned


class Gauge(ShopOwned):
    """A paint gauge and its stated error: repeatability, and ``a + b·t`` for accuracy."""

    name = models.CharField(max_length=60)
    repeatability_um = models.FloatField()
    accuracy_um = models.FloatField(help_text=_("Fixed part of the accuracy."))
    accuracy_share = models.FloatField(help_text=_("Part that grows with the reading."))
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["shop", "name"], name="gauge_name_once"),
            models.CheckConstraint(
                condition=Q(repeatability_um__gte=0, accuracy_um__gte=0)
                & Q(accuracy_share__gte=0, accuracy_share__lt=1),
                name="gauge_errors_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class GaugeCalibration(models.Model):
    """A check of a gauge on shims of known thickness; never changed, only added to."""

    gauge = models.ForeignKey(Gauge, on_delete=models.PROTECT, related_name="calibrations")
    at = models.DateTimeField()
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    shims_um = models.JSONField(help_text=_("Pairs of true and read thickness, in micrometres."))
    passed = models.BooleanField(help_text=_("Each shim read within the gauge's accuracy."))

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["gauge", "at"])]

    def __str__(self) -> str:
        return f"{self.gauge} {self.at:%Y-%m-%d}"


class Inspection(ShopOwned):
    """One walk round one vehicle.

    ``version`` rises with each save, so that two people saving over one another
    are told.
    """

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="inspections")
    gauge = models.ForeignKey(Gauge, on_delete=models.PROTECT, null=True, blank=True)
    unit = models.CharField(max_length=3, choices=FilmUnit, help_text=_("As the gauge showed it."))
    taken_at = models.DateTimeField()
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    notes = models.TextField(blank=True)
    version = models.PositiveIntegerField(default=1)
    finished = models.BooleanField(default=False)
    # Null where a save had none, which a column added to a table in use can be.
    save_token = models.CharField(  # noqa: DJ001
        max_length=40,
        null=True,
        blank=True,
        help_text=_("Name that the browser gave the last save, so that it counts once."),
    )

    class Meta:
        ordering = ["-taken_at"]
        indexes = [models.Index(fields=["shop", "taken_at"])]
        constraints = [
            models.UniqueConstraint(fields=["shop", "save_token"], name="inspection_save_once"),
        ]

    def __str__(self) -> str:
        return f"{self.vehicle} {self.taken_at:%Y-%m-%d}"


class Substrate(models.TextChoices):
    STEEL = "steel", _("Steel")
    ALUMINIUM = "aluminium", _("Aluminium")
    COMPOSITE = "composite", _("Composite")


class PanelFinding(models.Model):
    """One panel of an inspection. Readings are kept in the inspection's unit."""

    inspection = models.ForeignKey(Inspection, on_delete=models.CASCADE, related_name="panels")
    panel = models.CharField(max_length=24)
    sequence = models.PositiveSmallIntegerField()
    substrate = models.CharField(max_length=10, choices=Substrate, default=Substrate.STEEL)
    spots = models.JSONField(default=list, help_text=_("A list of readings for each spot."))
    # Null where nobody said so, which a column added to a table in use can be.
    covered = models.BooleanField(
        null=True,
        blank=True,
        help_text=_("Protection film over the paint: readings are not paint."),
    )
    test_spot = models.JSONField(
        null=True,
        blank=True,
        help_text=_("Level tried on a section, readings before and after, share cleared."),
    )

    class Meta:
        ordering = ["sequence"]
        constraints = [
            models.UniqueConstraint(fields=["inspection", "panel"], name="panel_once"),
        ]

    def __str__(self) -> str:
        return self.panel


class Defect(models.Model):
    """One kind of damage on one panel: a share of it, or a count."""

    finding = models.ForeignKey(PanelFinding, on_delete=models.CASCADE, related_name="defects")
    kind = models.CharField(max_length=20)
    severity = models.CharField(max_length=10, blank=True)
    extent = models.FloatField(null=True, blank=True)
    count = models.PositiveSmallIntegerField(null=True, blank=True)
    local_reading = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(extent__isnull=False, count__isnull=True)
                | Q(extent__isnull=True, count__isnull=False),
                name="defect_has_extent_or_count",
            ),
            models.CheckConstraint(
                condition=Q(extent__isnull=True) | Q(extent__gte=0, extent__lte=1),
                name="defect_extent_is_share",
            ),
            models.CheckConstraint(
                condition=Q(count__isnull=True) | Q(count__gte=1), name="defect_count_positive"
            ),
            models.CheckConstraint(
                condition=Q(local_reading__isnull=True) | Q(local_reading__gte=0),
                name="defect_local_reading_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return self.kind
