"""A search for a better week, or for an answer to trouble: asked for, worked on, answered."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from shop.models import Member
from shop.models.base import ShopOwned


class PlanRunKind(models.TextChoices):
    IMPROVE = "improve", _("Improve the week")
    MEND = "mend", _("Mend trouble")


class PlanRunState(models.TextChoices):
    QUEUED = "queued", _("Waiting to begin")
    RUNNING = "running", _("Searching")
    DONE = "done", _("Done")
    STOPPED = "stopped", _("Stopped by a person")
    FAILED = "failed", _("Failed")


OPEN_STATES = (PlanRunState.QUEUED, PlanRunState.RUNNING)


class PlanRun(ShopOwned):
    """One search. What it proposes changes nothing until a person accepts it.

    ``proposal`` holds one or more answers with their lines before and after;
    ``accepted`` names what was taken of it.
    """

    kind = models.CharField(max_length=8, choices=PlanRunKind)
    state = models.CharField(max_length=8, choices=PlanRunState, default=PlanRunState.QUEUED)
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    as_of = models.DateTimeField(help_text=_("The calendar was seen from this moment on."))
    most_seconds = models.PositiveSmallIntegerField()
    most_moved = models.PositiveSmallIntegerField(
        default=0, help_text=_("How many others may move to mend trouble.")
    )
    stop_asked = models.BooleanField(default=False)
    heard_at = models.DateTimeField(help_text=_("Last sign of life of the search."))
    ended_at = models.DateTimeField(null=True, blank=True)
    seconds = models.FloatField(default=0)
    phase = models.CharField(max_length=40, blank=True)
    before = models.FloatField(null=True, blank=True, help_text=_("Points of the present plan."))
    best = models.FloatField(null=True, blank=True)
    bound = models.FloatField(null=True, blank=True)
    proposal = models.JSONField(default=dict, blank=True)
    problem = models.CharField(max_length=300, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.ForeignKey(
        Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    accepted = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ["-asked_at", "-pk"]
        indexes = [models.Index(fields=["shop", "asked_at"])]
        constraints = [
            models.UniqueConstraint(
                fields=["shop"],
                condition=Q(state__in=["queued", "running"]),
                name="plan_run_one_at_a_time",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=PlanRunKind.values), name="plan_run_kind_is_known"
            ),
            models.CheckConstraint(
                condition=Q(state__in=PlanRunState.values), name="plan_run_state_is_known"
            ),
            models.CheckConstraint(
                condition=Q(state__in=["queued", "running"], ended_at__isnull=True)
                | (~Q(state__in=["queued", "running"]) & Q(ended_at__isnull=False)),
                name="plan_run_ends_when_over",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.asked_at:%Y-%m-%d %H:%M}"

    @property
    def over(self) -> bool:
        """Whether the search has ended."""
        return self.state not in OPEN_STATES

    @property
    def gap(self) -> float | None:
        """Share of the best that is not proven to be needed."""
        if self.best is None or self.bound is None:
            return None
        return max(0.0, (self.best - self.bound) / self.best) if self.best > 0 else 0.0
