"""The shop itself: where it is, when it is open, what an hour costs, how much film must stay."""

from __future__ import annotations

import zoneinfo
from datetime import time
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.core.validators import RegexValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from shop.models.base import ShopOwned, in_range, money_field, share_field
from shop.models.phone import PhoneField
from shop.public_holidays import region_problem


class FilmUnit(models.TextChoices):
    MIL = "mil", _("mil")
    UM = "um", _("µm")


def validate_zone(value: str) -> None:
    """Refuse a zone that the IANA data does not hold."""
    if value not in zoneinfo.available_timezones():
        raise ValidationError(
            _("%(zone)s is not an IANA time zone; write one such as America/Chicago."),
            params={"zone": value},
        )


class Shop(models.Model):
    """One shop; the owner of every other record.

    Rates are per hour and burdened (wages with everything paid on top). Margin
    is a share of the price, never of the cost.
    """

    name = models.CharField(_("name"), max_length=120)
    slug = models.SlugField(_("short name"), unique=True)
    zone = models.CharField(_("time zone"), max_length=64, validators=[validate_zone])
    currency = models.CharField(
        _("currency"), max_length=3, validators=[RegexValidator(r"^[A-Z]{3}$")]
    )
    country = models.CharField(_("country"), max_length=2, default="US")
    holiday_country = models.CharField(
        _("public holidays of"),
        max_length=2,
        blank=True,
        default="",
        db_default="",
        help_text=_("Country code such as US; the shop is closed on them. Blank: on none."),
    )
    holiday_subdivision = models.CharField(
        _("state or province"),
        max_length=10,
        blank=True,
        default="",
        db_default="",
        help_text=_("Code such as TX or BY, for holidays of that part of the country."),
    )
    film_unit = models.CharField(max_length=3, choices=FilmUnit, default=FilmUnit.MIL)
    phone = PhoneField(_("phone"), blank=True)
    email = models.EmailField(_("e-mail"), blank=True)
    address = models.TextField(_("address"), blank=True)

    tax_rate = share_field(default=Decimal("0"))
    tax_inclusive = models.BooleanField(default=False)
    labour_rate = money_field(help_text=_("Burdened cost of one attended hour."))
    bay_rate = money_field(help_text=_("Cost of one bay for one hour."))
    overhead_rate = models.DecimalField(
        max_digits=7, decimal_places=4, help_text=_("Share of labour.")
    )
    card_fee_share = share_field(default=Decimal("0"))
    target_margin = share_field()
    floor_margin = share_field(help_text=_("Never below this without an owner's reason."))
    rounding_step = money_field(default=Decimal("5"))
    deposit_share = share_field(default=Decimal("0"))

    floor_um = models.FloatField(default=76.2, help_text=_("Film that must stay."))
    reserve_um = models.FloatField(default=5.08, help_text=_("Kept above the floor."))
    max_risk = share_field(default=Decimal("0.05"))
    promise_probability = share_field(default=Decimal("0.9"))
    plan_quantile = share_field(
        default=Decimal("0.7"),
        help_text=_("Share of operations that fit into the time the calendar keeps."),
    )
    quote_valid_days = models.PositiveSmallIntegerField(default=14)
    customer_choices = models.BooleanField(
        _("customers may choose the finish"),
        default=True,
        db_default=True,
        help_text=_("On their page: a little less or more than was offered, at its price."),
    )
    quiet_from = models.TimeField(_("no messages from"), default=time(21, 0))
    quiet_until = models.TimeField(_("no messages until"), default=time(8, 0))
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(target_margin__lt=1) & Q(floor_margin__lte=F("target_margin")),
                name="shop_margins_in_order",
                violation_error_message=_("The floor margin must not exceed the target margin."),
            ),
            models.CheckConstraint(condition=Q(floor_um__gt=0), name="shop_floor_um_positive"),
            models.CheckConstraint(condition=Q(reserve_um__gte=0), name="shop_reserve_um_not_neg"),
            models.CheckConstraint(condition=in_range("max_risk", 0, 1), name="shop_risk_is_share"),
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        problem = region_problem(self.holiday_country, self.holiday_subdivision)
        if problem is not None:
            raise ValidationError({problem.field: problem.message})

    @property
    def tz(self) -> zoneinfo.ZoneInfo:
        return zoneinfo.ZoneInfo(self.zone)


class OpeningHours(ShopOwned):
    """One opening window on one weekday (Monday is 0), wall-clock time in the shop's zone."""

    weekday = models.PositiveSmallIntegerField()
    opens = models.TimeField()
    closes = models.TimeField()

    class Meta:
        ordering = ["weekday", "opens"]
        verbose_name_plural = "opening hours"
        constraints = [
            models.CheckConstraint(
                condition=in_range("weekday", 0, 6), name="opening_weekday_0_to_6"
            ),
            models.CheckConstraint(
                condition=Q(closes__gt=F("opens")), name="opening_closes_after_it_opens"
            ),
            models.UniqueConstraint(
                fields=["shop", "weekday", "opens"], name="opening_window_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.weekday} {self.opens:%H:%M}–{self.closes:%H:%M}"


class Closure(ShopOwned):
    """Whole days on which the shop is closed, last day included.

    With ``worked`` it says the opposite: public holidays among these days are worked.
    A closure of the same day still closes it. Days are read by
    :func:`shop.closed_days.closed_days`, never from the rows alone.
    """

    first_day = models.DateField()
    last_day = models.DateField()
    reason = models.CharField(max_length=120)
    worked = models.BooleanField(
        _("we work"),
        default=False,
        db_default=False,
        help_text=_("Ticked: not closed; public holidays on these days are worked."),
    )

    class Meta:
        ordering = ["first_day"]
        constraints = [
            models.CheckConstraint(
                condition=Q(last_day__gte=F("first_day")), name="closure_days_in_order"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.reason}: {self.first_day} – {self.last_day}"


class Counter(ShopOwned):
    """Last number given out of a series; the row is locked while the next is taken."""

    series = models.CharField(max_length=20)
    value = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["shop", "series"], name="counter_once")]

    def __str__(self) -> str:
        return f"{self.series} {self.value}"
