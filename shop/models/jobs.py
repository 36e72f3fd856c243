"""A job: the vehicle's stay, its operations, who worked on them and what was used.

States follow the facts. Every change is a row in :class:`JobEvent` with who and
when; the moves that are allowed stand in :data:`ALLOWED_MOVES` and nowhere else.
"""

from __future__ import annotations

from decimal import Decimal

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from shop.models.base import ShopOwned, money_field, share_field
from shop.models.customers import Customer
from shop.models.materials import Consumable
from shop.models.people import Member
from shop.models.vehicles import Vehicle


class JobState(models.TextChoices):
    ENQUIRY = "enquiry", _("Enquiry")
    QUOTED = "quoted", _("Quoted")
    BOOKED = "booked", _("Booked")
    ON_SITE = "on_site", _("On site")
    IN_WORK = "in_work", _("In work")
    CURING = "curing", _("Curing")
    READY = "ready", _("Ready")
    HANDED_OVER = "handed_over", _("Handed over")
    CLOSED = "closed", _("Closed")
    CANCELLED = "cancelled", _("Cancelled")
    NO_SHOW = "no_show", _("No-show")


_S = JobState
ALLOWED_MOVES: dict[str, frozenset[str]] = {
    _S.ENQUIRY: frozenset({_S.QUOTED, _S.CANCELLED}),
    _S.QUOTED: frozenset({_S.BOOKED, _S.CANCELLED}),
    _S.BOOKED: frozenset({_S.ON_SITE, _S.CANCELLED, _S.NO_SHOW, _S.QUOTED}),
    _S.ON_SITE: frozenset({_S.IN_WORK, _S.CANCELLED}),
    _S.IN_WORK: frozenset({_S.CURING, _S.READY}),
    _S.CURING: frozenset({_S.READY, _S.IN_WORK}),
    _S.READY: frozenset({_S.HANDED_OVER, _S.IN_WORK}),
    _S.HANDED_OVER: frozenset({_S.CLOSED}),
    _S.CLOSED: frozenset(),
    _S.CANCELLED: frozenset(),
    _S.NO_SHOW: frozenset({_S.QUOTED, _S.CANCELLED}),
}


class Job(ShopOwned):
    """One vehicle's visit, from enquiry to closed."""

    number = models.CharField(max_length=20)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="jobs")
    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="jobs")
    state = models.CharField(max_length=12, choices=JobState, default=JobState.QUOTED)
    title = models.CharField(max_length=160, help_text=_("What was ordered, in a line."))

    arrives_at = models.DateTimeField(null=True, blank=True)
    ready_at = models.DateTimeField(null=True, blank=True, help_text=_("Planned end of all work."))
    promised_at = models.DateTimeField(null=True, blank=True)
    promise_probability = share_field(null=True, blank=True)
    arrived_at = models.DateTimeField(null=True, blank=True)
    handed_over_at = models.DateTimeField(null=True, blank=True)

    currency = models.CharField(max_length=3)
    price = money_field(help_text=_("Agreed, before tax."))
    estimated_labour = money_field(default=Decimal("0"))
    estimated_bay = money_field(default=Decimal("0"))
    estimated_materials = money_field(default=Decimal("0"))
    estimated_overhead = money_field(default=Decimal("0"))
    card_fee = money_field(default=Decimal("0"), help_text=_("On the agreed price, tax included."))
    overtime_pay = money_field(
        default=Decimal("0"),
        db_default=Decimal("0"),
        help_text=_("On top of labour, for the overtime this visit keeps."),
    )
    labour_rate = money_field(help_text=_("As quoted, so that later rates do not rewrite it."))
    bay_rate = money_field()
    overhead_rate = models.DecimalField(max_digits=7, decimal_places=4)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-created_at", "-pk"]
        indexes = [
            models.Index(fields=["shop", "state", "arrives_at"]),
            models.Index(fields=["shop", "promised_at"]),
        ]
        constraints = [
            models.UniqueConstraint(fields=["shop", "number"], name="job_number_once"),
            models.CheckConstraint(
                condition=Q(state__in=JobState.values), name="job_state_is_known"
            ),
            models.CheckConstraint(
                condition=Q(ready_at__isnull=True) | Q(ready_at__gt=F("arrives_at")),
                name="job_ready_after_it_arrives",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=[_S.BOOKED, _S.ON_SITE, _S.IN_WORK, _S.CURING, _S.READY])
                | Q(arrives_at__isnull=False, ready_at__isnull=False),
                name="job_booked_has_times",
            ),
            models.CheckConstraint(condition=Q(price__gte=0), name="job_price_not_negative"),
            models.CheckConstraint(
                condition=Q(overtime_pay__gte=0), name="job_overtime_pay_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.vehicle}"


class JobEvent(models.Model):
    """Something that happened to a job; written once, never changed."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="events")
    kind = models.CharField(max_length=30)
    from_state = models.CharField(max_length=12, choices=JobState, blank=True)
    to_state = models.CharField(max_length=12, choices=JobState, blank=True)
    at = models.DateTimeField()
    member = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")
    why = models.CharField(max_length=300, blank=True)
    details = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["job", "at"])]

    def __str__(self) -> str:
        return f"{self.kind} {self.at:%Y-%m-%d %H:%M}"


class Attendance(models.TextChoices):
    PAUSABLE = "pausable", _("Attended, may pause")
    THROUGH = "through", _("Attended, without a pause")
    UNATTENDED = "unattended", _("Unattended")


class OperationKind(models.TextChoices):
    WASH = "wash", _("Wash")
    MASK = "mask", _("Taping")
    CORRECTION = "correction", _("Correction")
    SPOT = "spot", _("Spot work")
    WIPE = "wipe", _("Panel wipe")
    COATING = "coating", _("Coating")
    CURE = "cure", _("Cure")
    ADD_ON = "add_on", _("Add-on")


class OperationState(models.TextChoices):
    PLANNED = "planned", _("Planned")
    RUNNING = "running", _("Running")
    PAUSED = "paused", _("Paused")
    DONE = "done", _("Done")


class Operation(models.Model):
    """One piece of work on the vehicle, in the order it is done.

    Minutes are of work (attended) or of elapsed time (unattended). Lags are from
    the end of the operation before to the start of this one.
    """

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="operations")
    sequence = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=12, choices=OperationKind)
    name = models.CharField(max_length=120)
    attendance = models.CharField(max_length=10, choices=Attendance)
    bay_capability = models.CharField(max_length=20)
    skill = models.CharField(max_length=20, blank=True)
    crew_count = models.PositiveSmallIntegerField(default=0)
    lamps = models.PositiveSmallIntegerField(default=0)
    minutes_p10 = models.FloatField()
    minutes_p50 = models.FloatField()
    minutes_p90 = models.FloatField()
    planned_minutes = models.PositiveIntegerField(help_text=_("What the calendar keeps."))
    lag_min_minutes = models.PositiveIntegerField(default=0)
    lag_max_minutes = models.PositiveIntegerField(null=True, blank=True)
    same_bay = models.BooleanField(default=False)

    planned_start = models.DateTimeField(null=True, blank=True)
    planned_end = models.DateTimeField(null=True, blank=True)
    state = models.CharField(max_length=8, choices=OperationState, default=OperationState.PLANNED)
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["job", "sequence"]
        indexes = [models.Index(fields=["state", "planned_start"])]
        constraints = [
            models.UniqueConstraint(fields=["job", "sequence"], name="operation_sequence_once"),
            models.CheckConstraint(
                condition=Q(minutes_p10__gt=0)
                & Q(minutes_p50__gte=F("minutes_p10"))
                & Q(minutes_p90__gte=F("minutes_p50")),
                name="operation_minutes_in_order",
            ),
            models.CheckConstraint(
                condition=Q(lag_max_minutes__isnull=True)
                | Q(lag_max_minutes__gte=F("lag_min_minutes")),
                name="operation_lags_in_order",
            ),
            models.CheckConstraint(
                condition=Q(attendance=Attendance.UNATTENDED, crew_count=0)
                | (~Q(attendance=Attendance.UNATTENDED) & Q(crew_count__gte=1)),
                name="operation_crew_fits_attendance",
            ),
            models.CheckConstraint(
                condition=Q(planned_end__isnull=True) | Q(planned_end__gt=F("planned_start")),
                name="operation_plan_runs_forward",
            ),
            models.CheckConstraint(
                condition=Q(finished_at__isnull=True) | Q(finished_at__gte=F("started_at")),
                name="operation_ends_after_start",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class WorkEntry(models.Model):
    """One stretch of work by one person on one operation; open while ``ended_at`` is empty."""

    operation = models.ForeignKey(Operation, on_delete=models.CASCADE, related_name="work")
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="work")
    started_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["started_at"]
        verbose_name_plural = "work entries"
        constraints = [
            models.UniqueConstraint(
                fields=["member"],
                condition=Q(ended_at__isnull=True),
                name="work_one_open_entry_a_person",
            ),
            models.CheckConstraint(
                condition=Q(ended_at__isnull=True) | Q(ended_at__gte=F("started_at")),
                name="work_ends_after_start",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.member}: {self.operation}"


class PlannedMaterial(models.Model):
    """What the quote expected to use, at the cost of that day."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="planned_materials")
    consumable = models.ForeignKey(Consumable, on_delete=models.PROTECT, related_name="+")
    quantity = models.DecimalField(max_digits=12, decimal_places=4)
    unit = models.CharField(max_length=12)
    cost = money_field()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["job", "consumable"], name="planned_material_once"),
            models.CheckConstraint(condition=Q(quantity__gt=0), name="planned_material_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.unit} {self.consumable}"


class MaterialUse(models.Model):
    """Material taken for a job; stock falls by it in the same transaction."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="materials_used")
    operation = models.ForeignKey(
        Operation, on_delete=models.SET_NULL, null=True, blank=True, related_name="materials_used"
    )
    consumable = models.ForeignKey(Consumable, on_delete=models.PROTECT, related_name="uses")
    quantity = models.DecimalField(max_digits=12, decimal_places=4)
    unit_cost = models.DecimalField(max_digits=12, decimal_places=5)
    at = models.DateTimeField()
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at"]
        constraints = [
            models.CheckConstraint(condition=Q(quantity__gt=0), name="material_use_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.consumable}"
