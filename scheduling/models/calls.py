"""A call at the quote desk as far as it has come, so that an interrupted one is not lost."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from estimating.models import Quote
from shop.models import Job, Member
from shop.models.base import ShopOwned


class CallState(models.TextChoices):
    OPEN = "open", _("Open")
    FINISHED = "finished", _("Finished")
    DISCARDED = "discarded", _("Discarded")


class CallDraft(ShopOwned):
    """What stands in the fields of one call, written with every change.

    ``key`` is made with the page, before anything is said, so that two answers to two
    quick changes write one row. ``turn`` counts the changes that ``page`` made: a request
    that was overtaken by a later one changes nothing. ``member`` has the call in hand;
    nobody else's changes are kept until they take it over. ``quoted`` is a digest of what
    ``quote`` was made of.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    title = models.CharField(max_length=120, blank=True)
    form = models.JSONField(default=dict)
    turn = models.PositiveIntegerField(default=0)
    page = models.CharField(max_length=36, blank=True)
    state = models.CharField(max_length=10, choices=CallState, default=CallState.OPEN)
    quote = models.ForeignKey(
        Quote, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    quoted = models.CharField(max_length=64, blank=True)
    job = models.ForeignKey(Job, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    started_at = models.DateTimeField()
    updated_at = models.DateTimeField()

    class Meta:
        ordering = ["-updated_at", "-pk"]
        indexes = [models.Index(fields=["shop", "state", "-updated_at"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=CallState.values), name="call_state_is_known"
            ),
            models.CheckConstraint(
                condition=Q(job__isnull=True) | Q(state=CallState.FINISHED),
                name="call_that_is_booked_is_finished",
            ),
        ]

    def __str__(self) -> str:
        return self.title or str(self.key)
