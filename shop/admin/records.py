"""Hours, customers, vehicles, jobs and what was used."""

from __future__ import annotations

from django.contrib import admin

from shop.admin.base import (
    OwnersInline,
    ReadOnlyAdmin,
    ReadOnlyInline,
    ShopModelAdmin,
)
from shop.models import (
    Closure,
    Consent,
    Customer,
    Job,
    JobEvent,
    MaterialUse,
    OpeningHours,
    Operation,
    PlannedMaterial,
    Vehicle,
    WorkEntry,
)


@admin.register(OpeningHours)
class OpeningHoursAdmin(ShopModelAdmin):
    """Weekly windows; wall-clock time in the shop's zone."""

    may = OwnersInline.may
    list_display = ("weekday", "opens", "closes")
    list_filter = ("weekday",)


@admin.register(Closure)
class ClosureAdmin(ShopModelAdmin):
    """Days on which the shop is closed, and public holidays that are worked."""

    may = OwnersInline.may
    list_display = ("reason", "first_day", "last_day", "worked")
    list_filter = ("worked",)
    search_fields = ("reason",)
    date_hierarchy = "first_day"


class ConsentInline(ReadOnlyInline):
    """What was said, as it was said: a new word comes in through the customer's page."""

    model = Consent


@admin.register(Customer)
class CustomerAdmin(ShopModelAdmin):
    """Customers."""

    list_display = ("name", "phone", "email", "created_at")
    search_fields = ("name", "phone", "email")
    inlines = (ConsentInline,)


@admin.register(Vehicle)
class VehicleAdmin(ShopModelAdmin):
    """Vehicles."""

    list_display = ("description", "customer", "body", "plate", "vin")
    list_filter = ("body", "hardness", "storage", "wash_habit")
    list_select_related = ("customer",)
    search_fields = ("description", "plate", "vin", "customer__name")
    autocomplete_fields = ("customer",)


class OperationInline(ReadOnlyInline):
    """The work, in order."""

    model = Operation
    fields = ("sequence", "name", "state", "planned_start", "planned_end", "minutes_p50")


class PlannedMaterialInline(ReadOnlyInline):
    """What the quote expected to use."""

    model = PlannedMaterial


class JobEventInline(ReadOnlyInline):
    """What happened, by whom and when."""

    model = JobEvent
    fields = ("at", "kind", "from_state", "to_state", "member", "why")


@admin.register(Job)
class JobAdmin(ReadOnlyAdmin):
    """Jobs; booking, the floor and handing over change them."""

    list_display = ("number", "title", "vehicle", "customer", "state", "arrives_at", "price")
    list_filter = ("state",)
    list_select_related = ("vehicle", "customer")
    search_fields = ("number", "title", "customer__name", "vehicle__description")
    date_hierarchy = "arrives_at"
    inlines = (OperationInline, PlannedMaterialInline, JobEventInline)


@admin.register(WorkEntry)
class WorkEntryAdmin(ShopModelAdmin):
    """Stretches of work. An owner may mend the times of one that nobody stopped."""

    may = frozenset({"change"})
    shop_path = "operation__job__shop"
    list_display = ("member", "operation", "job", "started_at", "ended_at")
    list_select_related = ("member", "operation__job__vehicle")
    search_fields = ("member__name", "operation__job__number")
    date_hierarchy = "started_at"
    fields = ("member", "operation", "started_at", "ended_at")
    readonly_fields = ("member", "operation")

    @admin.display(ordering="operation__job__number")
    def job(self, entry: WorkEntry) -> str:
        return entry.operation.job.number


@admin.register(MaterialUse)
class MaterialUseAdmin(ReadOnlyAdmin):
    """Material taken, at the cost of that moment."""

    shop_path = "job__shop"
    list_display = ("at", "job", "consumable", "quantity", "unit_cost", "member")
    list_select_related = ("job__vehicle", "consumable", "member")
    search_fields = ("job__number", "consumable__name", "member__name")
    date_hierarchy = "at"
