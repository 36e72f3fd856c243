"""Customers and what they allow us to send."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from shop.models.base import ShopOwned
from shop.models.phone import PhoneField
from shop.models.profile import validate_zone


class Channel(models.TextChoices):
    EMAIL = "email", _("E-mail")
    TEXT = "text", _("Text message")


class ConsentPurpose(models.TextChoices):
    VISIT = "visit", _("About a booked visit")
    AFTERCARE = "aftercare", _("Aftercare")
    OFFERS = "offers", _("Quotes and offers")


class Customer(ShopOwned):
    """A person or firm that brings vehicles. At least one way to reach them is known."""

    name = models.CharField(_("name"), max_length=120)
    phone = PhoneField(_("phone"), blank=True)
    email = models.EmailField(_("e-mail"), blank=True)
    zone = models.CharField(
        max_length=64, blank=True, validators=[validate_zone], help_text=_("Empty: the shop's.")
    )
    notes = models.TextField(_("notes"), blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["name", "pk"]
        indexes = [models.Index(fields=["shop", "name"]), models.Index(fields=["shop", "phone"])]
        constraints = [
            models.CheckConstraint(
                condition=~Q(phone="") | ~Q(email=""),
                name="customer_can_be_reached",
                violation_error_message=_("Give a phone number or an e-mail address."),
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Consent(models.Model):
    """What one customer said about one channel and one purpose; the last word stands."""

    customer = models.ForeignKey(Customer, on_delete=models.CASCADE, related_name="consents")
    channel = models.CharField(max_length=8, choices=Channel)
    purpose = models.CharField(max_length=12, choices=ConsentPurpose)
    granted = models.BooleanField()
    said_at = models.DateTimeField()
    source = models.CharField(max_length=80, help_text=_("How it was given: phone, form, link."))

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["customer", "channel", "purpose"], name="consent_one_word_each"
            ),
        ]

    def __str__(self) -> str:
        word = _("yes") if self.granted else _("no")
        return f"{self.channel} {self.purpose}: {word}"
