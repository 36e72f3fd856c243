"""Who signs in, and what they are in the shop."""

from __future__ import annotations

from django.contrib.auth.models import AbstractUser
from django.db import models
from django.utils.translation import gettext_lazy as _

from shop.models.base import ShopOwned
from shop.models.phone import PhoneField


class User(AbstractUser):
    """An account. What it may do is said by its membership of a shop."""


class Role(models.TextChoices):
    OWNER = "owner", _("Owner")
    FRONT_DESK = "front_desk", _("Front desk")
    TECHNICIAN = "technician", _("Technician")


class Member(ShopOwned):
    """A person of the shop. Kept when they leave, since work and events name them."""

    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="memberships")
    role = models.CharField(max_length=12, choices=Role)
    name = models.CharField(max_length=80)
    phone = PhoneField(blank=True)
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["shop", "user"], name="member_once_in_a_shop"),
        ]

    def __str__(self) -> str:
        return self.name
