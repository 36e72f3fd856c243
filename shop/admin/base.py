"""What every page of the administration shares: one shop's rows, and forms that know it."""

from __future__ import annotations

from datetime import date
from typing import Any, ClassVar

from django import forms
from django.contrib import admin
from django.core.exceptions import FieldDoesNotExist, ValidationError
from django.db import models
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils import timezone

from shop.admin_site import is_keeper, may_enter, owner_of
from shop.models import Shop
from shop.phones import to_e164


def today_in(shop: Shop) -> date:
    """The shop's own date."""
    return timezone.now().astimezone(shop.tz).date()


class ShopForm(forms.ModelForm):
    """A form whose row belongs to a shop before it is checked.

    For owners the shop is no field of the form; without it here, rules such as
    "one VIN in a shop" would be left out of the check and end as an error of the
    database.
    """

    acting_shop: Shop | None = None

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.acting_shop is not None and hasattr(self.instance, "shop_id"):
            self.instance.shop_id = self.instance.shop_id or self.acting_shop.pk
        if "phone" in self.fields:
            # Longer than E.164: people write spaces and brackets.
            label = self.fields["phone"].label
            self.fields["phone"] = forms.CharField(max_length=40, required=False, label=label)

    def clean_phone(self) -> str:
        text = str(self.cleaned_data.get("phone") or "")
        shop = self.acting_shop or self.cleaned_data.get("shop")
        return to_e164(text, shop.country if shop else "") if text else ""

    def _get_validation_exclusions(self) -> set[str]:
        exclude: set[str] = super()._get_validation_exclusions()  # type: ignore[misc]
        if getattr(self.instance, "shop_id", None):
            exclude.discard("shop")
        return exclude


class OwnersRights:
    """Rights by membership. ``may`` names what may be done besides looking."""

    may: ClassVar[frozenset[str]] = frozenset({"add", "change"})

    def has_module_permission(self, request: HttpRequest) -> bool:
        return may_enter(request)

    def has_view_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return may_enter(request)

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return "add" in self.may and may_enter(request)

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return "change" in self.may and may_enter(request)

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return "delete" in self.may and may_enter(request)


class ShopModelAdmin(OwnersRights, admin.ModelAdmin):
    """Rows of the owner's shop; ``shop_path`` leads from a row to its shop."""

    form = ShopForm
    shop_path: ClassVar[str] = "shop"
    list_per_page = 50

    def get_queryset(self, request: HttpRequest) -> QuerySet[Any]:
        return of_shop(super().get_queryset(request), self.shop_path, request)

    def get_exclude(self, request: HttpRequest, obj: Any = None) -> Any:
        exclude = list(super().get_exclude(request, obj) or ())
        return exclude if is_keeper(request) or not _has_shop(self.model) else [*exclude, "shop"]

    def get_form(
        self, request: HttpRequest, obj: Any = None, change: bool = False, **kwargs: Any
    ) -> Any:
        form: Any = super().get_form(request, obj, change, **kwargs)
        owner = owner_of(request)
        form.acting_shop = obj.shop if obj and _has_shop(self.model) else owner and owner.shop
        return form

    def formfield_for_foreignkey(
        self, db_field: Any, request: HttpRequest, **kwargs: Any
    ) -> forms.ModelChoiceField | None:
        related = db_field.remote_field.model
        if not is_keeper(request) and _has_shop(related):
            rows = kwargs.get("queryset", related._default_manager.all())
            kwargs["queryset"] = of_shop(rows, "shop", request)
        return super().formfield_for_foreignkey(db_field, request, **kwargs)


class ReadOnlyAdmin(ShopModelAdmin):
    """Rows that only services write: snapshots, events, holds."""

    may = frozenset()


class OwnersInline(OwnersRights, admin.TabularInline):
    """Rows below another one, which has the shop."""

    may = frozenset({"add", "change", "delete"})
    extra = 0


class ReadOnlyInline(OwnersInline):
    """Rows below another one that only services write."""

    may = frozenset()


def of_shop(rows: QuerySet[Any], path: str, request: HttpRequest) -> QuerySet[Any]:
    """Leave the rows of the owner's shop; all of them for the keeper."""
    if is_keeper(request):
        return rows
    owner = owner_of(request)
    return rows.filter(**{path: owner.shop_id}) if owner else rows.none()


def _has_shop(model: type[models.Model]) -> bool:
    try:
        model._meta.get_field("shop")
    except FieldDoesNotExist:
        return False
    return True


def words_field(choices: Any, label: Any) -> forms.MultipleChoiceField:
    """Boxes to tick for a list of words."""
    return forms.MultipleChoiceField(
        choices=choices, required=False, widget=forms.CheckboxSelectMultiple, label=label
    )


def problem_for(error: Any, form: forms.BaseForm) -> None:
    """Show a service's refusal at the fields of a form, or above it."""
    for problem in error.problems:
        field = problem.field if problem.field in form.fields else None
        form.add_error(field, ValidationError(problem.message))
