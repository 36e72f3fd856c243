"""Reads of the estimating room: catalogue, terms and documents of a shop."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from typing import Any

from django.db import connection
from django.db.models import Sum
from django.utils.translation import gettext as _

from estimating.core.catalogue import Catalogue
from estimating.core.catalogue_prior import FilmPolicy
from estimating.core.catalogue_rows import Consumable
from estimating.core.checks import RuleBroken
from estimating.core.formats import INSPECTION_FORMAT
from estimating.core.terms import ShopTerms
from estimating.film_history import found_at, gauge_part
from estimating.mapping import NOTE, SETTINGS, TABLES, Table, names_of, row_made
from estimating.models import Inspection, Quote
from shop.models import CatalogueSetting, Job, Shop, Vehicle
from shop.models import Consumable as ConsumableRow
from shop.money import minor_units
from shop.refusals import Problem, Refused

TERMS_FIELDS = (
    "labour_rate", "bay_rate", "overhead_rate", "card_fee_share", "tax_rate",
    "target_margin", "floor_margin", "rounding_step", "deposit_share",
)  # fmt: skip


def catalogue_for(shop: Shop, day: date) -> Catalogue:
    """The catalogue of ``shop`` as it holds on ``day``, checked as a whole.

    One query for each table, 23 in all, whatever the number of rows.

    Raises
    ------
    Refused
        Nothing holds on that day, or the rows do not fit one another.
    """
    tables: dict[str, Any] = {}
    try:
        for table in TABLES:
            tables[table.name] = _rows(shop, day, table)
        tables["consumables"] = consumables_of(shop)
        settings = _settings(shop, day)
        for name, made in SETTINGS.items():
            if name in settings:
                tables[name] = made(**settings[name])
        tables[NOTE] = settings.get(NOTE, {}).get("text", "")
        _refuse_missing(shop, day, tables)
        return Catalogue(policy=policy_of(shop), **tables)
    except (RuleBroken, TypeError) as error:
        raise Refused(
            Problem(
                _("The catalogue of %(day)s does not hold together: %(why)s.")
                % {"day": day, "why": error},
                field="catalogue",
            )
        ) from error


def _rows(shop: Shop, day: date, table: Table) -> tuple[Any, ...]:
    """The newest row in effect of each key, in the order of the catalogue.

    The same rows as ``table.model.objects.of(shop).in_effect(day)``, by a statement
    that is put together once: Django takes longer to build 21 of them each time
    than everything else in an estimate does.
    """
    names = names_of(table.row)
    keys = [names.index(name) for name in table.model.key]
    newest: dict[tuple[Any, ...], tuple[Any, ...]] = {}
    with connection.cursor() as cursor:
        cursor.execute(_statement(table), [shop.pk, day, day])
        for *values, position in cursor.fetchall():
            newest[tuple(values[index] for index in keys)] = (position, values)
    in_order = sorted(newest.values(), key=lambda found: found[0])
    return tuple(row_made(table.row, values) for _position, values in in_order)


@cache
def _statement(table: Table) -> str:
    meta = table.model._meta
    quoted = connection.ops.quote_name
    column_of = {field.name: field.column for field in meta.concrete_fields}
    columns = ", ".join(quoted(column_of[name] or "") for name in names_of(table.row))
    return (
        f"SELECT {columns}, position FROM {quoted(meta.db_table)} "  # noqa: S608 - our own names
        "WHERE shop_id = %s AND effective_from <= %s "
        "AND (effective_to IS NULL OR effective_to > %s) ORDER BY effective_from, id"
    )


def consumables_of(shop: Shop) -> tuple[Consumable, ...]:
    """Everything on the shelf, retired or not: rows of earlier days may point at it."""
    rows = ConsumableRow.objects.of(shop).order_by("pk")
    return shelf_made(rows.values_list(*names_of(Consumable)))


def shelf_made(rows: Iterable[Sequence[Any]]) -> tuple[Consumable, ...]:
    """Core rows of the shelf from values in the order of ``names_of(Consumable)``."""
    at = names_of(Consumable).index("on_hand")
    made = []
    for row in rows:
        values = list(row)
        # A count below zero says that the count is wrong, not that less than nothing is there.
        values[at] = max(0.0, float(values[at]))
        made.append(row_made(Consumable, values))
    return tuple(made)


def _settings(shop: Shop, day: date) -> dict[str, dict[str, Any]]:
    rows = CatalogueSetting.objects.of(shop).in_effect(day).order_by("effective_from", "pk")
    return dict(rows.values_list("code", "values"))


def _refuse_missing(shop: Shop, day: date, tables: Mapping[str, Any]) -> None:
    missing = [name for name in SETTINGS if name not in tables]
    missing += [name for name in ("bodies", "levels", "stages") if not tables[name]]
    if missing:
        raise Refused(
            Problem(
                _(
                    "%(shop)s has no %(tables)s on %(day)s; load a catalogue that holds from "
                    "then: manage.py catalogue_load FILE --shop %(slug)s --from DATE."
                )
                % {
                    "shop": shop.name,
                    "tables": ", ".join(missing),
                    "day": day,
                    "slug": shop.slug,
                },
                field="catalogue",
            )
        )


def policy_of(shop: Shop) -> FilmPolicy:
    """What must stay on a vehicle, by the shop's profile."""
    return FilmPolicy(shop.floor_um, shop.reserve_um, float(shop.max_risk))


def terms_for(shop: Shop) -> ShopTerms:
    """Rates and margins of a shop.

    Raises
    ------
    Refused
        The figures of the shop's profile leave no room for a price.
    """
    try:
        return ShopTerms(
            currency=shop.currency,
            minor_units=minor_units(shop.currency),
            tax_inclusive=shop.tax_inclusive,
            **{name: Decimal(getattr(shop, name)) for name in TERMS_FIELDS},
        )
    except RuleBroken as error:
        raise Refused(Problem(str(error), field="shop")) from error


def local_day(shop: Shop, now: datetime) -> date:
    """The shop's own date at an instant: in Chicago it is still yesterday at 03:00 UTC."""
    return now.astimezone(shop.tz).date()


def inspection_document(inspection: Inspection) -> dict[str, Any]:
    """An inspection as ``halfmil-inspection/1``, without a goal. One query.

    The vehicle is as old as it was when it was read, the gauge as it was last
    calibrated before; film of earlier inspections of the vehicle stands at its panels.
    """
    found = found_at(inspection)
    document: dict[str, Any] = {
        "format": INSPECTION_FORMAT,
        "unit": inspection.unit,
        "vehicle": vehicle_part(
            inspection.vehicle, local_day(inspection.shop, inspection.taken_at)
        ),
        "panels": list(found.panels.values()),
    }
    if inspection.gauge is not None:
        document["gauge"] = gauge_part(
            inspection.gauge,
            unit=inspection.unit,
            at=inspection.taken_at,
            zone=inspection.shop.tz,
            last=found.calibrated,
        )
    return document


def phone_document(vehicle_like: Any, *, day: date | None = None) -> dict[str, Any]:
    """What a caller told, as ``halfmil-inspection/1`` without panels and goal.

    Parameters
    ----------
    vehicle_like
        A vehicle, or a mapping in the form of the document's ``vehicle``
        (``body``, ``age_months``, ``paint`` and the answers).
    day
        The day on which a vehicle's age is counted; not needed for a mapping.
    """
    if isinstance(vehicle_like, Mapping):
        part = dict(vehicle_like)
    else:
        part = vehicle_part(vehicle_like, day)
    return {"format": INSPECTION_FORMAT, "unit": "um", "vehicle": part, "panels": []}


def vehicle_part(vehicle: Vehicle, day: date | None) -> dict[str, Any]:
    """The ``vehicle`` of a document; what nobody has asked yet is left out."""
    part: dict[str, Any] = {"body": vehicle.body, "paint": {"hardness": vehicle.hardness}}
    age_months = vehicle.age_months(day) if day is not None else None
    if age_months is not None:
        part["age_months"] = age_months
    answers = {
        "storage": vehicle.storage,
        "wash_habit": vehicle.wash_habit,
        "colour": vehicle.tone,
        "previous_correction": vehicle.previous_correction,
    }
    return part | {question: answer for question, answer in answers.items() if answer}


def balance_of(job: Job) -> Decimal:
    """What is still to be paid for a job, tax included, in its currency; below zero: too much."""
    tax = Quote.objects.filter(job=job).values_list("tax", flat=True).first()
    return balance_from(job, tax, job.payments.aggregate(total=Sum("amount"))["total"])


def balance_from(job: Job, tax: Decimal | None, paid: Decimal | None) -> Decimal:
    """The same, where the tax of its quote and the sum of its payments are at hand."""
    return job.price + (tax or Decimal(0)) - (paid or Decimal(0))
