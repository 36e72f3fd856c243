"""Quotes: what was offered, with everything it was worked out from."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from estimating.models.inspections import Inspection
from shop.models import Customer, Job, Member, Vehicle
from shop.models.base import ShopOwned, money_field, share_field


class QuoteState(models.TextChoices):
    OPEN = "open", _("Open")
    SENT = "sent", _("Sent")
    ACCEPTED = "accepted", _("Accepted")
    DECLINED = "declined", _("Declined")
    REPLACED = "replaced", _("Replaced by a newer version")


class Quote(ShopOwned):
    """A snapshot. A new version is a new row; what was offered is never edited.

    ``request`` holds the inspection as read, the goal and the options;
    ``parameters`` the catalogue rows and rates used; ``estimate`` the result in
    the ``halfmil-estimate/1`` form; ``operations`` and ``materials`` the work
    in full. Triggers refuse to change any of them
    (``migrations/0002_quotes_are_snapshots.py``).
    """

    number = models.CharField(max_length=20)
    version = models.PositiveSmallIntegerField(default=1)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="quotes")
    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="quotes")
    inspection = models.ForeignKey(
        Inspection, on_delete=models.PROTECT, null=True, blank=True, related_name="quotes"
    )
    job = models.OneToOneField(
        Job, on_delete=models.PROTECT, null=True, blank=True, related_name="quote"
    )
    state = models.CharField(max_length=10, choices=QuoteState, default=QuoteState.OPEN)
    title = models.CharField(max_length=160)
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)
    accepted_at = models.DateTimeField(null=True, blank=True)
    valid_until = models.DateTimeField()
    declined_at = models.DateTimeField(null=True, blank=True)
    # Null until it is declined, which a column added to a table in use can be.
    declined_why = models.CharField(max_length=300, null=True, blank=True)  # noqa: DJ001

    currency = models.CharField(max_length=3)
    price = money_field(help_text=_("Offered, before tax."))
    price_p10 = money_field()
    price_p50 = money_field()
    price_p90 = money_field()
    tax = money_field()
    margin = share_field()
    below_floor_reason = models.CharField(max_length=300, blank=True)
    hours_p10 = models.FloatField()
    hours_p50 = models.FloatField()
    hours_p90 = models.FloatField()
    cleared = models.FloatField(help_text=_("Share of the defects that the plan clears."))

    request = models.JSONField()
    parameters = models.JSONField()
    estimate = models.JSONField()
    operations = models.JSONField()
    materials = models.JSONField()

    class Meta:
        ordering = ["-created_at", "-pk"]
        indexes = [models.Index(fields=["shop", "state", "valid_until"])]
        constraints = [
            models.UniqueConstraint(
                fields=["shop", "number", "version"], name="quote_version_once"
            ),
            models.CheckConstraint(
                condition=Q(price_p50__gte=F("price_p10")) & Q(price_p90__gte=F("price_p50")),
                name="quote_prices_in_order",
            ),
            models.CheckConstraint(
                condition=Q(valid_until__gt=F("created_at")), name="quote_valid_after_made"
            ),
            models.CheckConstraint(
                condition=~Q(state="accepted") | Q(job__isnull=False, accepted_at__isnull=False),
                name="quote_accepted_has_job",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} v{self.version}"
