"""What customers paid for a job."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from shop.models.base import money_field
from shop.models.jobs import Job
from shop.models.people import Member


class PaymentMethod(models.TextChoices):
    CASH = "cash", _("Cash")
    CARD = "card", _("Card")
    TRANSFER = "transfer", _("Bank transfer")
    OTHER = "other", _("Other")


class Payment(models.Model):
    """Money taken for a job, or given back (below zero); written once, never changed."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="payments")
    amount = money_field(help_text=_("Below zero: given back."))
    method = models.CharField(max_length=10, choices=PaymentMethod)
    at = models.DateTimeField()
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(amount=0), name="payment_is_an_amount"),
        ]

    def __str__(self) -> str:
        return f"{self.job.number} {self.amount} {self.job.currency}"
