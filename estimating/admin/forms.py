"""Forms that keep what held before, and refuse what would break the catalogue."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from estimating.services.trial import profile_try, rows_try
from shop.admin.base import ShopForm, problem_for, today_in
from shop.models import CatalogueRow
from shop.refusals import Refused

# What may change on a row that has held for a day or more.
_ALWAYS_OPEN = frozenset({"effective_to", "position"})


class RowForm(ShopForm):
    """A catalogue row. Figures that held before today are not rewritten."""

    def clean(self) -> dict[str, Any] | None:
        cleaned = super().clean()
        row = self.instance
        if row.pk is None:
            return cleaned
        today = today_in(row.shop)
        begun: date = self.initial.get("effective_from") or row.effective_from
        changed = set(self.changed_data) - _ALWAYS_OPEN
        if begun < today and changed:
            raise ValidationError(
                _(
                    "This row has held since %(begun)s, and what held then must stay readable. "
                    "Press “Save as new” on its page, and the change holds from today; "
                    "or take “New version from today” in the list and change that."
                )
                % {"begun": begun}
            )
        return cleaned


class TriedRowForm(RowForm):
    """A catalogue row that is refused if the whole catalogue would not hold with it."""

    def _post_clean(self) -> None:
        super()._post_clean()  # type: ignore[misc]
        if not self.errors:
            _try(self, [self.instance])


class TriedStockForm(ShopForm):
    """A consumable; catalogue rows point at it by code."""

    def _post_clean(self) -> None:
        super()._post_clean()  # type: ignore[misc]
        if self.errors:
            return
        try:
            rows_try(
                shop=self.instance.shop,
                rows=[self.instance],
                days=[today_in(self.instance.shop)],
            )
        except Refused as refused:
            problem_for(refused, self)


class ProfileForm(ShopForm):
    """The shop's profile; its rates must leave room for a price."""

    def clean_phone(self) -> str:
        # The country stands on the same form; the shop as it was may have another.
        self.acting_shop = self.instance if self.instance.pk else None
        if country := self.cleaned_data.get("country"):
            self.instance.country = country
        return super().clean_phone()

    def _post_clean(self) -> None:
        super()._post_clean()  # type: ignore[misc]
        if self.errors:
            return
        try:
            profile_try(shop=self.instance)
        except Refused as refused:
            problem_for(refused, self)


class TriedFormSet(forms.BaseModelFormSet):
    """Rows changed together in the list, such as shares that add up to one."""

    def clean(self) -> None:
        super().clean()
        if not any(self.errors):
            by_shop: dict[int, list[CatalogueRow]] = {}
            for form in self.forms:
                if form.has_changed():
                    by_shop.setdefault(form.instance.shop_id, []).append(form.instance)
            for rows in by_shop.values():
                _try(None, rows)


def _try(form: forms.BaseForm | None, rows: list[CatalogueRow]) -> None:
    """Try rows of one shop; what is refused goes to ``form``, or is raised."""
    shop = rows[0].shop
    try:
        rows_try(shop=shop, rows=rows, days=_days(rows, today_in(shop)))
    except Refused as refused:
        if form is None:
            raise ValidationError([p.message for p in refused.problems]) from refused
        problem_for(refused, form)


def _days(rows: Iterable[CatalogueRow], today: date) -> set[date]:
    """The days on which the catalogue changes with these rows, none before today."""
    days: set[date] = set()
    for row in rows:
        days.add(max(today, row.effective_from))
        if row.effective_to is not None and row.effective_to > today:
            days.add(row.effective_to)
    return days
