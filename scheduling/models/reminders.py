"""Reminders: rows with a due time, written in the transaction of what causes them."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from estimating.models import Quote
from shop.models import Channel, Customer, Job, Member
from shop.models.base import ShopOwned


class ReminderPurpose(models.TextChoices):
    FOLLOW_UP = "follow_up", _("Quote without an answer")
    CONFIRM = "confirm", _("Booking confirmed")
    DAY_BEFORE = "day_before", _("Day before drop-off")
    DROP_OFF = "drop_off", _("Drop-off today")
    RECOAT_OPEN = "recoat_open", _("Recoat window opens")
    RECOAT_CLOSING = "recoat_closing", _("Recoat window about to close")
    CLIMATE_ALARM = "climate_alarm", _("Climate is wrong for the coating")
    CURE_DONE = "cure_done", _("Cure done")
    READY = "ready", _("Ready to collect")
    FIRST_WASH = "first_wash", _("First wash")
    FIRST_INSPECTION = "first_inspection", _("First inspection")
    YEARLY = "yearly", _("Yearly inspection")
    BALANCE_DUE = "balance_due", _("Balance due")
    GAUGE_CHECK = "gauge_check", _("Gauge to be checked")
    LOW_STOCK = "low_stock", _("Stock is low")


class ReminderState(models.TextChoices):
    DUE = "due", _("Due")
    CLAIMED = "claimed", _("Being sent")
    SENT = "sent", _("Sent")
    FAILED = "failed", _("Failed")
    UNKNOWN = "unknown", _("Not known whether sent")
    WITHDRAWN = "withdrawn", _("Withdrawn")
    EXPIRED = "expired", _("Too late to send")


class Reminder(ShopOwned):
    """One message to one person for one cause.

    ``key`` makes it happen once: the same cause never writes a second row, and
    a sender passes the key on so that a provider can drop a repeat. The reader is
    a customer or a member of the shop. ``facts`` are names and what they stand for,
    where the records it hangs on will not say it later.
    """

    job = models.ForeignKey(
        Job, on_delete=models.CASCADE, null=True, blank=True, related_name="reminders"
    )
    quote = models.ForeignKey(
        Quote, on_delete=models.CASCADE, null=True, blank=True, related_name="reminders"
    )
    customer = models.ForeignKey(
        Customer, on_delete=models.CASCADE, null=True, blank=True, related_name="reminders"
    )
    member = models.ForeignKey(
        Member, on_delete=models.CASCADE, null=True, blank=True, related_name="reminders"
    )
    facts = models.JSONField(
        default=dict, db_default=models.Value({}, output_field=models.JSONField()), blank=True
    )
    purpose = models.CharField(max_length=18, choices=ReminderPurpose)
    channel = models.CharField(max_length=8, choices=Channel)
    key = models.CharField(max_length=80)
    due_at = models.DateTimeField()
    expires_at = models.DateTimeField(null=True, blank=True)
    state = models.CharField(max_length=10, choices=ReminderState, default=ReminderState.DUE)
    why = models.CharField(max_length=200, help_text=_("What caused it, or what stopped it."))
    attempts = models.PositiveSmallIntegerField(default=0)
    claimed_at = models.DateTimeField(null=True, blank=True)
    claim = models.CharField(max_length=40, blank=True)
    claimed_by = models.CharField(
        max_length=80,
        blank=True,
        default="",
        db_default="",
        help_text=_("Machine and process that took it up last."),
    )
    carrier = models.CharField(
        max_length=20,
        blank=True,
        default="",
        db_default="",
        help_text=_("The way out it was last given to."),
    )
    sent_at = models.DateTimeField(null=True, blank=True)
    recipient = models.CharField(max_length=254, blank=True)
    subject = models.CharField(max_length=200, blank=True)
    body = models.TextField(blank=True)
    error = models.CharField(max_length=300, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["due_at", "pk"]
        indexes = [
            models.Index(fields=["due_at"], condition=Q(state="due"), name="reminder_due_queue"),
            models.Index(fields=["shop", "state", "due_at"]),
        ]
        constraints = [
            models.UniqueConstraint(fields=["shop", "key"], name="reminder_key_once"),
            models.CheckConstraint(
                condition=Q(expires_at__isnull=True) | Q(expires_at__gt=F("due_at")),
                name="reminder_expires_after_due",
            ),
            models.CheckConstraint(
                condition=~Q(state="sent") | Q(sent_at__isnull=False),
                name="reminder_sent_has_time",
            ),
            models.CheckConstraint(
                condition=Q(customer__isnull=False, member__isnull=True)
                | Q(customer__isnull=True, member__isnull=False),
                name="reminder_has_one_reader",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_purpose_display()} {self.due_at:%Y-%m-%d %H:%M}"

    @property
    def reader(self) -> Customer | Member:
        """Who is written to."""
        found = self.customer or self.member
        assert found is not None
        return found


class MessageTemplate(ShopOwned):
    """The owner's wording for one purpose and channel, with ``{placeholders}``."""

    purpose = models.CharField(max_length=18, choices=ReminderPurpose)
    channel = models.CharField(max_length=8, choices=Channel)
    subject = models.CharField(max_length=200, blank=True)
    text = models.TextField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["shop", "purpose", "channel"], name="message_template_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_purpose_display()} ({self.get_channel_display()})"
