"""What one shop's calendar and messages go by; every figure is the shop's to change."""

from __future__ import annotations

from datetime import time

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from shop.models import Shop


class CalendarPolicy(models.Model):
    """Figures of the calendar and its messages. A shop without a row goes by the defaults.

    The defaults are common practice, no source.
    """

    shop = models.OneToOneField(Shop, on_delete=models.CASCADE, related_name="calendar_policy")
    horizon_days = models.PositiveSmallIntegerField(
        default=182, help_text=_("How far ahead a place is looked for.")
    )
    day_before_at = models.TimeField(
        default=time(18, 0), help_text=_("When the evening before a visit is written to.")
    )
    first_inspection_days = models.PositiveSmallIntegerField(
        default=30, help_text=_("From the hand-over to the first look at the coating.")
    )
    keep_minutes = models.PositiveSmallIntegerField(
        default=10,
        db_default=10,
        help_text=_("How long a visit is kept for a caller who has not said yes."),
    )
    drop_off_hours = models.PositiveSmallIntegerField(
        default=2,
        db_default=2,
        help_text=_("From the message on the day itself to the drop-off."),
    )
    follow_up_days = models.PositiveSmallIntegerField(
        default=3,
        db_default=3,
        help_text=_("From a sent quote to asking about it."),
    )
    balance_days = models.PositiveSmallIntegerField(
        default=7,
        db_default=7,
        help_text=_("From the hand-over to asking for what is not paid."),
    )
    yearly_times = models.PositiveSmallIntegerField(
        default=3,
        db_default=3,
        help_text=_("How many yearly inspections are written for."),
    )
    recoat_warning_minutes = models.PositiveSmallIntegerField(
        default=30,
        db_default=30,
        help_text=_("Before a recoat window closes."),
    )
    bay_c = models.FloatField(
        default=20.0, help_text=_("Temperature assumed in a bay where none is logged, °C.")
    )
    lamp_panel_c = models.FloatField(
        default=50.0,
        db_default=50.0,
        help_text=_("Of a panel under an infrared lamp where it was not measured, °C."),
    )
    send_tries = models.PositiveSmallIntegerField(
        default=5, help_text=_("How often a message is tried before it counts as failed.")
    )

    class Meta:
        verbose_name_plural = "calendar policies"
        constraints = [
            models.CheckConstraint(
                condition=Q(horizon_days__gte=7, horizon_days__lte=730),
                name="policy_horizon_is_bounded",
            ),
            models.CheckConstraint(
                condition=Q(bay_c__gte=-20, bay_c__lte=50), name="policy_bay_c_is_plausible"
            ),
            models.CheckConstraint(
                condition=Q(lamp_panel_c__gte=0, lamp_panel_c__lte=150),
                name="policy_lamp_panel_c_is_plausible",
            ),
            models.CheckConstraint(condition=Q(send_tries__gte=1), name="policy_tries_at_least_1"),
            models.CheckConstraint(
                condition=Q(keep_minutes__gte=1, keep_minutes__lte=240),
                name="policy_keep_minutes_is_bounded",
            ),
        ]

    def __str__(self) -> str:
        return str(self.shop)
