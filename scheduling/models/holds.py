"""A hold keeps one resource over ``[start, end)``: for a job, or for a caller's kept slot.

Two holds on one resource never overlap. PostgreSQL refuses it with an exclusion
constraint, SQLite with a trigger (``migrations/0002_holds_never_overlap.py``);
code that looks first only does so to give a kind message.
"""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from scheduling.models.kept import KeptSlot
from scheduling.models.resources import Resource
from shop.models import Job, Member, Operation
from shop.models.base import ShopOwned


class HoldPurpose(models.TextChoices):
    WORK = "work", _("Work")
    WAIT = "wait", _("Vehicle standing")


class Hold(ShopOwned):
    """One resource kept. Cancelling deletes the row; the job's events remember it.

    A bay's hold reaches from the vehicle's entry to its leaving; a technician's
    covers only the stretches of work, so one operation may have several.
    """

    resource = models.ForeignKey(Resource, on_delete=models.PROTECT, related_name="holds")
    job = models.ForeignKey(
        Job, on_delete=models.CASCADE, null=True, blank=True, related_name="holds"
    )
    kept = models.ForeignKey(
        KeptSlot, on_delete=models.CASCADE, null=True, blank=True, related_name="holds"
    )
    operation = models.ForeignKey(
        Operation, on_delete=models.CASCADE, null=True, blank=True, related_name="holds"
    )
    purpose = models.CharField(max_length=4, choices=HoldPurpose, default=HoldPurpose.WORK)
    start = models.DateTimeField()
    end = models.DateTimeField()

    class Meta:
        ordering = ["start", "resource"]
        indexes = [
            models.Index(fields=["resource", "start"]),
            models.Index(fields=["shop", "start", "end"]),
        ]
        constraints = [
            models.CheckConstraint(condition=Q(end__gt=F("start")), name="hold_runs_forward"),
            models.CheckConstraint(
                condition=Q(job__isnull=False, kept__isnull=True)
                | Q(job__isnull=True, kept__isnull=False, operation__isnull=True),
                name="hold_is_for_a_job_or_kept",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.resource} {self.start:%Y-%m-%d %H:%M}"

    @property
    def booked_job(self) -> Job:
        """The job of a hold that is a booking's and not a kept slot's."""
        assert self.job is not None
        return self.job

    @property
    def booked_job_id(self) -> int:
        """The key of :attr:`booked_job`, without reading it."""
        assert self.job_id is not None
        return self.job_id


class Cure(models.Model):
    """The cure of a job's coating, as an amount of curing at reference temperature.

    The profile is copied from the coating system when the coat is finished, so
    that a later change to the catalogue leaves a running cure alone.
    """

    job = models.OneToOneField(Job, on_delete=models.CASCADE, related_name="cure")
    operation = models.OneToOneField(Operation, on_delete=models.CASCADE, related_name="cure")
    system_name = models.CharField(max_length=80)
    started_at = models.DateTimeField()
    reference_c = models.FloatField()
    q10 = models.FloatField(help_text=_("Factor of the rate for ten degrees."))
    handover_hours = models.FloatField(help_text=_("At the reference temperature."))
    full_cure_hours = models.FloatField()
    wash_after_hours = models.FloatField()
    forecast_handover_at = models.DateTimeField()
    forecast_full_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(handover_hours__gt=0) & Q(full_cure_hours__gte=F("handover_hours")),
                name="cure_hours_in_order",
            ),
            models.CheckConstraint(condition=Q(q10__gte=1), name="cure_q10_at_least_one"),
        ]

    def __str__(self) -> str:
        return f"{self.job.number} {self.system_name}"


class LampRun(models.Model):
    """A stretch in which an infrared lamp warms a curing panel; open while ``ended_at`` is empty.

    The panel is as warm as was measured under the lamp, else as the shop assumes.
    """

    cure = models.ForeignKey(Cure, on_delete=models.CASCADE, related_name="lamp_runs")
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    started_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    panel_c = models.FloatField(help_text=_("Of the panel under the lamp, °C."))

    class Meta:
        ordering = ["started_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ended_at__isnull=True) | Q(ended_at__gte=F("started_at")),
                name="lamp_run_ends_after_start",
            ),
            models.CheckConstraint(
                condition=Q(panel_c__gte=0, panel_c__lte=150), name="lamp_run_panel_is_plausible"
            ),
            models.UniqueConstraint(
                fields=["cure"],
                condition=Q(ended_at__isnull=True),
                name="lamp_run_one_open_a_cure",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.cure} {self.started_at:%Y-%m-%d %H:%M}"


class ClimateReading(ShopOwned):
    """Air and surface of a bay at one moment, from a sensor or a person."""

    resource = models.ForeignKey(Resource, on_delete=models.CASCADE, related_name="climate")
    at = models.DateTimeField()
    air_c = models.FloatField()
    humidity_percent = models.FloatField()
    surface_c = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["-at"]
        indexes = [models.Index(fields=["resource", "at"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(humidity_percent__gt=0, humidity_percent__lte=100),
                name="climate_humidity_is_percent",
            ),
            models.CheckConstraint(
                condition=Q(air_c__gte=-40, air_c__lte=60), name="climate_air_is_plausible"
            ),
            models.UniqueConstraint(fields=["resource", "at"], name="climate_reading_once"),
        ]

    def __str__(self) -> str:
        return f"{self.resource} {self.air_c} °C {self.humidity_percent} %"
