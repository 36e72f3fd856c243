"""The page on which a customer sees one quote and what becomes of it."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from shop.models import Member
from shop.models.base import ShopOwned


class CustomerPage(ShopOwned):
    """A page for all versions of one quote and for its job.

    Its address is ``code`` signed with the site's secret key, so that neither the
    database nor the key alone opens it. Another code is another address.
    """

    quote_number = models.CharField(max_length=20)
    code = models.CharField(
        max_length=32, null=True, blank=True, unique=True, help_text=_("Empty: withdrawn.")
    )
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["shop", "quote_number"], name="customer_page_once_a_quote"
            ),
        ]

    def __str__(self) -> str:
        return self.quote_number
