"""The shop's profile, gauges, inspections and quotes."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest

from estimating.admin.forms import ProfileForm
from estimating.models import Gauge, GaugeCalibration, Inspection, PanelFinding, Quote
from shop.admin.base import ReadOnlyAdmin, ReadOnlyInline, ShopModelAdmin, of_shop
from shop.admin_site import is_keeper
from shop.models import Shop


@admin.register(Shop)
class ShopProfileAdmin(ShopModelAdmin):
    """The shop itself: where it is, what an hour costs, how much film must stay."""

    form = ProfileForm
    shop_path = "pk"
    list_display = ("name", "zone", "currency", "labour_rate", "target_margin")

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return is_keeper(request)

    def get_queryset(self, request: HttpRequest) -> QuerySet[Shop]:
        return of_shop(Shop.objects.all(), "pk", request)


class CalibrationInline(ReadOnlyInline):
    """Checks on shims, latest first; a new one is made with the gauge in hand."""

    model = GaugeCalibration


@admin.register(Gauge)
class GaugeAdmin(ShopModelAdmin):
    """Gauges and their stated error."""

    list_display = ("name", "repeatability_um", "accuracy_um", "accuracy_share", "active")
    list_filter = ("active",)
    inlines = (CalibrationInline,)


class PanelInline(ReadOnlyInline):
    """Panels as they were read."""

    model = PanelFinding


@admin.register(Inspection)
class InspectionAdmin(ReadOnlyAdmin):
    """Inspections; they are changed on their sheet, which keeps versions apart."""

    list_display = ("vehicle", "taken_at", "member", "unit", "finished", "version")
    list_filter = ("finished", "unit")
    list_select_related = ("vehicle", "member")
    search_fields = ("vehicle__description", "vehicle__plate")
    date_hierarchy = "taken_at"
    inlines = (PanelInline,)


@admin.register(Quote)
class QuoteAdmin(ReadOnlyAdmin):
    """Quotes are snapshots: a new version is made at the desk, none is edited."""

    list_display = ("number", "version", "title", "customer", "state", "price", "valid_until")
    list_filter = ("state",)
    list_select_related = ("customer",)
    search_fields = ("number", "title", "customer__name")
    date_hierarchy = "created_at"
    # The rows of the catalogue that it was made from fill several screens.
    exclude = ("parameters",)
