"""What can be kept: bays, people, lamps and parking spots, one row for each single unit.

A lot for six vehicles is six rows. So "no double booking" is one rule on one
table (see :class:`scheduling.models.holds.Hold`) and no counting is needed.
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Final

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from scheduling.core import worktime
from shop.models import Member
from shop.models.base import ShopOwned, in_range, money_field

WEEK_DAYS: Final = 7


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
    """One working window of a technician on one weekday, wall-clock, breaks cut out.

    With a price it is overtime: hours that would be worked for extra pay. They are offered
    apart and never used silently. The price is a factor on the shop's labour rate (1.5: half
    as much again) or an amount for each hour on top of it.
    """

    resource = models.ForeignKey(Resource, on_delete=models.CASCADE, related_name="shifts")
    weekday = models.PositiveSmallIntegerField(help_text=_("Monday is 0."))
    starts = models.TimeField()
    ends = models.TimeField()
    every_weeks = models.PositiveSmallIntegerField(
        default=1,
        db_default=1,
        help_text=_("2 for every other week, counted from the week of the first day."),
    )
    valid_from = models.DateField(
        _("first day"), null=True, blank=True, help_text=_("Blank: it has always been so.")
    )
    valid_to = models.DateField(
        _("last day"), null=True, blank=True, help_text=_("Blank: until further notice.")
    )
    overtime_factor = models.DecimalField(
        max_digits=4,
        decimal_places=2,
        null=True,
        blank=True,
        help_text=_("Makes it overtime: of the labour rate, such as 1.5."),
    )
    overtime_extra = money_field(
        null=True,
        blank=True,
        help_text=_("Makes it overtime: for each hour on top of the labour rate."),
    )

    class Meta:
        ordering = ["weekday", "starts"]
        constraints = [
            models.UniqueConstraint(
                fields=["resource", "weekday", "starts"],
                condition=Q(valid_from__isnull=True),
                name="shift_window_once",
            ),
            models.UniqueConstraint(
                fields=["resource", "weekday", "starts", "valid_from"],
                name="shift_window_once_from_a_day",
            ),
            models.CheckConstraint(
                condition=Q(every_weeks=1)
                | Q(every_weeks__gte=2, every_weeks__lte=8, valid_from__isnull=False),
                name="shift_weeks_have_a_first_day",
                violation_error_message=_(
                    "A shift of every so many weeks (1 to 8) needs its first day to count from."
                ),
            ),
            models.CheckConstraint(
                condition=Q(valid_to__isnull=True)
                | Q(valid_from__isnull=True)
                | Q(valid_to__gte=F("valid_from")),
                name="shift_days_in_order",
                violation_error_message=_("The last day must not lie before the first day."),
            ),
            models.CheckConstraint(
                condition=Q(overtime_factor__isnull=True, overtime_extra__isnull=True)
                | Q(overtime_factor__gte=1, overtime_factor__lte=10, overtime_extra__isnull=True)
                | Q(overtime_factor__isnull=True, overtime_extra__gte=0),
                name="shift_overtime_has_one_price",
                violation_error_message=_(
                    "Overtime has one price: a factor from 1 to 10, or an extra for each hour."
                ),
            ),
            models.CheckConstraint(condition=Q(ends__gt=F("starts")), name="shift_runs_forward"),
            models.CheckConstraint(
                condition=in_range("weekday", 0, 6), name="shift_weekday_0_to_6"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.weekday} {self.starts:%H:%M}–{self.ends:%H:%M}"

    def clean(self) -> None:
        first, last = self.valid_from, self.valid_to
        if first is None or last is None or last < first or self.weekday is None:
            return
        if not self.every_weeks or not self.starts or not self.ends:
            return  # refused at its own field
        days = (first + timedelta(days=n) for n in range((last - first).days + 1))
        if self.every_weeks > 1 or (last - first).days < WEEK_DAYS:
            shift = self.as_core()
            if not any(shift.starts_on(day) for day in days):
                message = _("Weekday %(weekday)s (Monday is 0) does not come from %(a)s to %(b)s.")
                params = {"weekday": self.weekday, "a": first, "b": last}
                raise ValidationError({"weekday": ValidationError(message, params=params)})

    @property
    def is_overtime(self) -> bool:
        """Whether its hours cost extra."""
        return self.overtime_factor is not None or self.overtime_extra is not None

    def extra_per_hour(self, labour_rate: Decimal) -> Decimal:
        """What one of its hours costs on top of the labour rate."""
        if self.overtime_extra is not None:
            return self.overtime_extra
        return labour_rate * ((self.overtime_factor or Decimal(1)) - 1)

    def as_core(self) -> worktime.Shift:
        """The shift as the core of working time has it."""
        return worktime.Shift(
            self.weekday,
            self.starts,
            self.ends,
            every_weeks=self.every_weeks,
            first_day=self.valid_from,
            last_day=self.valid_to,
        )


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
