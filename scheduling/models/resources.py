"""What can be kept: bays, people, lamps and parking spots, one row for each single unit.

A lot for six vehicles is six rows. So "no double booking" is one rule on one
table (see :class:`scheduling.models.holds.Hold`) and no counting is needed.
"""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from shop.models import Member
from shop.models.base import ShopOwned, in_range


class ResourceKind(models.TextChoices):
    BAY = "bay", _("Bay")
    TECHNICIAN = "technician", _("Technician")
    LAMP = "lamp", _("Lamp")
    PARKING = "parking", _("Parking spot")


class Capability(models.TextChoices):
    """What may be done in a bay."""

    WASH = "wash", _("Wash")
    CORRECTION = "correction", _("Correction")
    COATING = "coating", _("Coating")


class Skill(models.TextChoices):
    """What a technician has been trained for."""

    WASH = "wash", _("Wash")
    POLISH = "polish", _("Correction")
    COAT = "coat", _("Coating")


class Resource(ShopOwned):
    """One unit that one vehicle at a time can have."""

    kind = models.CharField(max_length=10, choices=ResourceKind)
    code = models.SlugField(max_length=20)
    name = models.CharField(max_length=60)
    capabilities = models.JSONField(
        default=list, blank=True, help_text=_("Of a bay: what may be done in it.")
    )
    skills = models.JSONField(
        default=list, blank=True, help_text=_("Of a technician: what they are trained for.")
    )
    member = models.OneToOneField(
        Member, on_delete=models.PROTECT, null=True, blank=True, related_name="resource"
    )
    position = models.PositiveSmallIntegerField(default=0, help_text=_("Order in the shop."))
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["kind", "position", "code"]
        constraints = [
            models.UniqueConstraint(fields=["shop", "code"], name="resource_code_once"),
            models.CheckConstraint(
                condition=Q(kind=ResourceKind.TECHNICIAN, member__isnull=False)
                | (~Q(kind=ResourceKind.TECHNICIAN) & Q(member__isnull=True)),
                name="resource_technician_is_a_member",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        known = {"capabilities": set(Capability.values), "skills": set(Skill.values)}
        for field, allowed in known.items():
            unknown = [word for word in getattr(self, field) if word not in allowed]
            if unknown:
                message = _("%(unknown)s is not known here; choose from %(allowed)s.")
                params = {"unknown": ", ".join(unknown), "allowed": ", ".join(sorted(allowed))}
                raise ValidationError({field: ValidationError(message, params=params)})


class Shift(models.Model):
    """One working window of a technician on one weekday, wall-clock, breaks cut out."""

    resource = models.ForeignKey(Resource, on_delete=models.CASCADE, related_name="shifts")
    weekday = models.PositiveSmallIntegerField(help_text=_("Monday is 0."))
    starts = models.TimeField()
    ends = models.TimeField()

    class Meta:
        ordering = ["weekday", "starts"]
        constraints = [
            models.UniqueConstraint(
                fields=["resource", "weekday", "starts"], name="shift_window_once"
            ),
            models.CheckConstraint(condition=Q(ends__gt=F("starts")), name="shift_runs_forward"),
            models.CheckConstraint(
                condition=in_range("weekday", 0, 6), name="shift_weekday_0_to_6"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.weekday} {self.starts:%H:%M}–{self.ends:%H:%M}"


class Absence(models.Model):
    """A stretch in which a resource is not there: leave, sickness, a lamp in repair."""

    resource = models.ForeignKey(Resource, on_delete=models.CASCADE, related_name="absences")
    start = models.DateTimeField()
    end = models.DateTimeField()
    reason = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["start"]
        constraints = [
            models.CheckConstraint(condition=Q(end__gt=F("start")), name="absence_runs_forward"),
        ]

    def __str__(self) -> str:
        return f"{self.resource}: {self.reason or self.start}"
