"""Writing a catalogue: what holds from a day on, without touching what held before."""

from __future__ import annotations

from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from estimating import selectors
from estimating.core.catalogue import Catalogue, row_to_dict
from estimating.core.catalogue_rows import Consumable
from estimating.mapping import (
    NOTE,
    SETTINGS,
    TABLES,
    names_of,
    refuse_inexact,
    row_values,
)
from shop.models import CatalogueRow, CatalogueSetting, Shop
from shop.models import Consumable as ConsumableRow
from shop.refusals import Problem, Refused

_STOCK_STEP = Decimal("0.0001")


@transaction.atomic
def catalogue_store(*, shop: Shop, catalogue: Catalogue, day: date) -> int:
    """Make ``catalogue`` hold from ``day`` on; return how many rows were written.

    Rows that say the same already are left alone, changed ones are added beside
    those of earlier days, ones that are gone end on ``day``. The shop's film policy
    is part of its profile and is not written; stock that is counted already keeps
    its count.

    Race: two catalogues loaded at once. The shop's row is locked, so the second
    compares with what the first wrote.

    Raises
    ------
    Refused
        An amount has more places than its column, or rows planned for a later day
        no longer fit. Nothing is written.
    """
    Shop.objects.select_for_update().get(pk=shop.pk)
    written = _store_consumables(shop, catalogue)
    for table in TABLES:
        rows = [row_values(row) for row in getattr(catalogue, table.name)]
        written += _store(shop, table.model, rows, day, table.name)
    groups: list[dict[str, Any]] = [
        {"code": name, "values": row_to_dict(getattr(catalogue, name))} for name in SETTINGS
    ]
    groups.append({"code": NOTE, "values": {"text": catalogue.note}})
    written += _store(shop, CatalogueSetting, groups, day, "settings")
    _check_later_days(shop, day)
    return written


def _store(
    shop: Shop, model: type[CatalogueRow], rows: list[dict[str, Any]], day: date, where: str
) -> int:
    held: dict[tuple[Any, ...], CatalogueRow] = {}
    open_rows: dict[tuple[Any, ...], list[CatalogueRow]] = {}
    for row in model.objects.of(shop).in_effect(day).order_by("effective_from", "pk"):
        key = tuple(getattr(row, name) for name in model.key)
        held[key] = row
        open_rows.setdefault(key, []).append(row)
    fresh: list[CatalogueRow] = []
    corrected: list[CatalogueRow] = []
    for position, values in enumerate(rows):
        refuse_inexact(model, values, f"{where}[{position}]")
        values = {**values, "position": position}
        key = tuple(values[name] for name in model.key)
        row = held.pop(key, None)
        if row is not None and all(getattr(row, name) == value for name, value in values.items()):
            continue
        if row is not None and row.effective_from == day:
            for name, value in values.items():
                setattr(row, name, value)
            corrected.append(row)
        else:
            fresh.append(model(shop=shop, effective_from=day, **values))
    model.objects.bulk_create(fresh)
    if corrected:
        names = [*rows[0], "position"]
        model.objects.bulk_update(corrected, names)
    gone = [row for key in held for row in open_rows[key]]
    return len(fresh) + len(corrected) + _end(model, gone, day)


def _end(model: type[CatalogueRow], rows: list[CatalogueRow], day: date) -> int:
    """End rows on ``day``; ones that would have begun on it never held and go."""
    never_held = [row.pk for row in rows if row.effective_from == day]
    earlier = [row.pk for row in rows if row.effective_from < day]
    model.objects.filter(pk__in=never_held).delete()
    model.objects.filter(pk__in=earlier).update(effective_to=day)
    return len(rows)


def _store_consumables(shop: Shop, catalogue: Catalogue) -> int:
    """Bring the shelf's list up to date; counts of what is there already stay."""
    held = {row.code: row for row in ConsumableRow.objects.of(shop).select_for_update()}
    names = [name for name in names_of(Consumable) if name not in ("code", "on_hand")]
    fresh, changed = [], []
    for index, item in enumerate(catalogue.consumables):
        values = row_values(item)
        refuse_inexact(ConsumableRow, values, f"consumables[{index}]")
        row = held.pop(item.code, None)
        if row is None:
            values["on_hand"] = Decimal(repr(item.on_hand)).quantize(_STOCK_STEP, ROUND_HALF_UP)
            fresh.append(ConsumableRow(shop=shop, **values))
        elif not row.active or any(getattr(row, name) != values[name] for name in names):
            for name in names:
                setattr(row, name, values[name])
            row.active = True
            changed.append(row)
    gone = [row for row in held.values() if row.active]
    for row in gone:
        row.active = False
    ConsumableRow.objects.bulk_create(fresh)
    ConsumableRow.objects.bulk_update([*changed, *gone], [*names, "active"])
    return len(fresh) + len(changed) + len(gone)


def _check_later_days(shop: Shop, day: date) -> None:
    """Refuse where what holds on ``day``, or on a later day of change, does not fit."""
    days = {day}
    models: list[type[CatalogueRow]] = [*(table.model for table in TABLES), CatalogueSetting]
    for model in models:
        rows = model.objects.of(shop).filter(Q(effective_from__gt=day) | Q(effective_to__gt=day))
        for begins, ends in rows.values_list("effective_from", "effective_to"):
            days |= {edge for edge in (begins, ends) if edge is not None and edge > day}
    for later in sorted(days):
        try:
            selectors.catalogue_for(shop, later)
        except Refused as error:
            raise Refused(
                Problem(
                    _("Rows that are planned from %(later)s no longer fit: %(why)s")
                    % {"later": later, "why": error.problems[0].message},
                    field="catalogue",
                )
            ) from error
