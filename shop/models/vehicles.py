"""Vehicles: what they are and how they live, which says much about their paint."""

from __future__ import annotations

from datetime import date

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from shop.models.base import ShopOwned
from shop.models.customers import Customer
from shop.months import whole_months
from shop.vin import vin_check


class Body(models.TextChoices):
    COUPE = "coupe", _("Coupé")
    HATCHBACK = "hatchback", _("Hatchback")
    SEDAN = "sedan", _("Sedan")
    WAGON = "wagon", _("Wagon")
    CROSSOVER = "crossover", _("Crossover")
    SUV = "suv", _("SUV")
    PICKUP = "pickup", _("Pickup")
    VAN = "van", _("Van")


class Tone(models.TextChoices):
    LIGHT = "light", _("Light")
    DARK = "dark", _("Dark")


class Hardness(models.TextChoices):
    SOFT = "soft", _("Soft")
    MEDIUM = "medium", _("Medium")
    HARD = "hard", _("Hard")


class Storage(models.TextChoices):
    GARAGE = "garage", _("In a garage")
    CARPORT = "carport", _("Under a carport")
    STREET = "street", _("In the open")


class WashHabit(models.TextChoices):
    HAND = "hand", _("By hand, two buckets")
    TOUCHLESS = "touchless", _("Touchless machine")
    BRUSHES = "brushes", _("Automatic with brushes")
    RARELY = "rarely", _("Hardly ever")


class PreviousCorrection(models.TextChoices):
    NEVER = "never", _("Never")
    ONCE = "once", _("Once")
    OFTEN = "often", _("More than once")


class Vehicle(ShopOwned):
    """One vehicle. Empty answers mean that nobody has asked yet."""

    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="vehicles")
    description = models.CharField(_("description"), max_length=120)
    body = models.CharField(_("body"), max_length=12, choices=Body)
    colour = models.CharField(_("colour"), max_length=40, blank=True)
    plate = models.CharField(_("plate"), max_length=16, blank=True)
    vin = models.CharField(_("VIN"), max_length=17, blank=True)
    vin_reason = models.CharField(
        _("why this VIN stands"),
        max_length=160,
        blank=True,
        help_text=_("Only where the check digit fails and does not apply."),
    )
    first_used_on = models.DateField(_("first used"), null=True, blank=True)

    tone = models.CharField(_("tone"), max_length=6, choices=Tone, blank=True)
    hardness = models.CharField(
        _("paint hardness"), max_length=6, choices=Hardness, default=Hardness.MEDIUM
    )
    storage = models.CharField(_("stands at night"), max_length=8, choices=Storage, blank=True)
    wash_habit = models.CharField(_("is washed"), max_length=10, choices=WashHabit, blank=True)
    previous_correction = models.CharField(
        _("polished before"), max_length=6, choices=PreviousCorrection, blank=True
    )
    paint_notes = models.TextField(_("paint notes"), blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["description", "pk"]
        indexes = [models.Index(fields=["shop", "plate"])]
        constraints = [
            models.UniqueConstraint(
                fields=["shop", "vin"], condition=~Q(vin=""), name="vehicle_vin_once"
            ),
        ]

    def __str__(self) -> str:
        return self.description

    def age_months(self, today: date) -> int | None:
        """Whole months since first use, or None where that is not known."""
        if self.first_used_on is None:
            return None
        return max(0, whole_months(self.first_used_on, today))

    def clean(self) -> None:
        if not self.vin:
            return
        found = vin_check(self.vin)
        self.vin = found.vin
        if not found.well_formed:
            raise ValidationError(
                {
                    "vin": _(
                        "A VIN has 17 letters and digits without I, O and Q; this has %(count)s."
                    )
                    % {"count": len(found.vin)}
                }
            )
        if not found.check_digit_holds and not self.vin_reason:
            raise ValidationError(
                {
                    "vin": _(
                        "The check digit of %(vin)s should be %(digit)s in position 9. "
                        "Correct the number, or say why it stands."
                    )
                    % {"vin": found.vin, "digit": found.expected_digit}
                }
            )
