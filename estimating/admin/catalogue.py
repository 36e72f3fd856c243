"""The catalogue: rows with the days on which they hold."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import admin, messages
from django.db.models import BooleanField, Case, Exists, OuterRef, Q, QuerySet, When
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from estimating.admin.forms import RowForm, TriedFormSet, TriedRowForm, TriedStockForm
from estimating.mapping import TABLES
from shop import models
from shop.admin.base import ShopModelAdmin, today_in
from shop.admin_site import owner_of
from shop.models import CatalogueRow, Consumable

_MOST_COLUMNS = 8


class HoldsNow(admin.SimpleListFilter):
    """Rows that hold today; in the beginning only those are shown."""

    title = _("holding")
    parameter_name = "holds"

    def lookups(self, request: HttpRequest, model_admin: Any) -> list[tuple[str, Any]]:
        return [("all", _("at any time"))]

    def choices(self, changelist: Any) -> Any:
        yield {
            "selected": self.value() is None,
            "query_string": changelist.get_query_string(remove=[self.parameter_name]),
            "display": _("today"),
        }
        yield from list(super().choices(changelist))[1:]

    def queryset(self, request: HttpRequest, rows: QuerySet[Any]) -> QuerySet[Any]:
        return rows if self.value() == "all" else rows.filter(holds_today=True)


class CatalogueAdmin(ShopModelAdmin):
    """One table of the catalogue.

    Nothing is deleted: a row ends with "holds until". A row that has begun is
    changed by saving it as new, which then holds from today.
    """

    form = TriedRowForm
    save_as = True
    save_as_continue = False
    list_filter = (HoldsNow,)
    actions = ("new_version",)

    def get_queryset(self, request: HttpRequest) -> QuerySet[CatalogueRow]:
        return with_holds_today(super().get_queryset(request), request)

    def get_search_fields(self, request: HttpRequest) -> list[str]:
        return [name for name in (*self.model.key, "name") if name in _text_fields(self.model)]

    @admin.display(boolean=True, description=_("holds today"))
    def holds_today(self, row: Any) -> bool:
        return bool(row.holds_today)

    def changeform_view(
        self,
        request: HttpRequest,
        object_id: str | None = None,
        form_url: str = "",
        extra_context: Any = None,
    ) -> HttpResponse:
        row = self.get_object(request, object_id) if object_id else None
        if request.method == "POST" and "_saveasnew" in request.POST and row is not None:
            _from_today(request, row)
        return super().changeform_view(request, object_id, form_url, extra_context)

    def get_changelist_form(self, request: HttpRequest, **kwargs: Any) -> type[forms.ModelForm]:
        # Shares are tried together by the form set, not one by one.
        return super().get_changelist_form(request, form=RowForm, **kwargs)

    def get_changelist_formset(self, request: HttpRequest, **kwargs: Any) -> Any:
        return super().get_changelist_formset(request, formset=TriedFormSet, **kwargs)

    @admin.action(description=_("New version from today"), permissions=["change"])
    def new_version(self, request: HttpRequest, rows: QuerySet[CatalogueRow]) -> None:
        """Copy rows that began before today, so that the copies can be changed."""
        made = 0
        for row in rows.select_related("shop"):
            today = today_in(row.shop)
            key = {name: getattr(row, name) for name in row.key}
            same = type(row).objects.of(row.shop).filter(**key, effective_from__gte=today)
            if row.effective_from < today and not same.exists():
                row.pk, row.effective_from = None, today
                row._state.adding = True
                row.save()
                made += 1
        message = ngettext(
            "%d row holds from today and can be changed now; the one before it stays.",
            "%d rows hold from today and can be changed now; those before them stay.",
            made,
        )
        self.message_user(request, message % made, messages.SUCCESS if made else messages.INFO)


@admin.register(Consumable)
class ConsumableAdmin(ShopModelAdmin):
    """The shelf. A count is mended here; work lowers it by what it takes."""

    form = TriedStockForm
    list_display = ("name", "code", "unit", "unit_cost", "on_hand", "reorder_point", "active")
    list_filter = ("active",)
    search_fields = ("name", "code")


def with_holds_today(rows: QuerySet[Any], request: HttpRequest) -> QuerySet[Any]:
    """Mark the rows that hold today: begun, not over, and none newer of the same key."""
    owner = owner_of(request)
    # The keeper sees all shops at once, and so their days by UTC.
    today = today_in(owner.shop) if owner else timezone.now().date()
    not_over = Q(effective_to=None) | Q(effective_to__gt=today)
    key = {name: OuterRef(name) for name in ("shop", *rows.model.key)}
    newer = rows.model.objects.filter(
        not_over, **key, effective_from__gt=OuterRef("effective_from"), effective_from__lte=today
    )
    holds = Q(effective_from__lte=today) & not_over & ~Exists(newer)
    return rows.annotate(
        holds_today=Case(When(holds, then=True), default=False, output_field=BooleanField())
    )


def _from_today(request: HttpRequest, row: CatalogueRow) -> None:
    """Let a copy begin today, unless a later day was written into the form."""
    today = today_in(row.shop)
    given = request.POST.get("effective_from", "")
    if given <= today.isoformat():
        post = request.POST.copy()
        post["effective_from"] = today.isoformat()
        request.POST = post  # type: ignore[assignment]


def _text_fields(model: Any) -> set[str]:
    kinds = ("CharField", "TextField")
    return {f.name for f in model._meta.fields if f.get_internal_type() in kinds}


def columns(table: type[CatalogueRow]) -> list[str]:
    """Columns of a table's list: what identifies a row, its figures, when it holds."""
    left_out = ("id", "shop", "effective_from", "effective_to", "position")
    own = [field.name for field in table._meta.fields if field.name not in left_out]
    first = [*table.key, *(name for name in own if name not in table.key)]
    return [*first[:_MOST_COLUMNS], "effective_from", "effective_to", "holds_today"]


# Their shares add up to one, so they are changed together, in the list.
_SHARES = (models.PriorShare, models.PriorAnswer)

for _table in (table.model for table in TABLES):
    _editable = {"list_editable": ("share",)} if _table in _SHARES else {}
    admin.site.register(_table, CatalogueAdmin, list_display=columns(_table), **_editable)
admin.site.register(
    models.CatalogueSetting, CatalogueAdmin, list_display=columns(models.CatalogueSetting)
)
