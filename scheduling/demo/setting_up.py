"""Sets up the invented shop from ``fixtures/demo_shop.json`` and the catalogue."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, time, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction

from estimating.core.catalogue import catalogue_from_text
from estimating.models import CustomerPage, Gauge, Inspection, Quote
from estimating.services.catalogue import catalogue_store
from scheduling.models import (
    CalendarFeed,
    CallDraft,
    Hold,
    KeptSlot,
    PlanRun,
    Resource,
    Shift,
)
from shop.models import (
    CatalogueRow,
    Closure,
    Consumable,
    Counter,
    Customer,
    Job,
    Member,
    OpeningHours,
    Payment,
    Role,
    Shop,
    User,
    Vehicle,
)
from shop.refusals import Refused

_MONEY = (
    "tax_rate", "labour_rate", "bay_rate", "overhead_rate", "card_fee_share", "target_margin",
    "floor_margin", "rounding_step", "deposit_share", "max_risk", "promise_probability",
    "plan_quantile",
)  # fmt: skip


@dataclass(frozen=True)
class DemoShop:
    """The shop and those of its people that the play needs."""

    shop: Shop
    owner: Member
    desk: Member
    script: dict[str, Any]


def fixture(name: str) -> Path:
    """Path of a file in ``fixtures/``."""
    return Path(settings.BASE_DIR) / "fixtures" / name


@transaction.atomic
def demo_shop_set_up(*, today: date, first_day: date, password: str) -> DemoShop:
    """Make the invented shop anew, its catalogue in effect from ``first_day``.

    Raises
    ------
    Refused
        The database holds another shop: the demo never mixes with real records.
    """
    script = json.loads(fixture("demo_shop.json").read_text(encoding="utf-8"))
    slug = script["shop"]["slug"]
    if Shop.objects.exclude(slug=slug).exists():
        raise Refused(
            "This database holds a real shop; give the demo its own with "
            "HALFMIL_DATABASE_URL=sqlite:///var/demo.sqlite3"
        )
    _clear(slug)
    profile = {k: Decimal(v) if k in _MONEY else v for k, v in script["shop"].items()}
    shop = Shop.objects.create(**profile)
    _hours_and_closures(shop, script, today)
    Gauge.objects.bulk_create(Gauge(shop=shop, **row) for row in script["gauges"])
    members = _people(shop, script, password)
    _resources(shop, script, members)
    catalogue = catalogue_from_text(fixture("catalogue.json").read_text(encoding="utf-8"))
    catalogue_store(shop=shop, catalogue=catalogue, day=first_day)
    owner = next(m for m in members.values() if m.role == Role.OWNER)
    desk = next(m for m in members.values() if m.role == Role.FRONT_DESK)
    return DemoShop(shop, owner, desk, script)


def _clear(slug: str) -> None:
    """Remove an earlier demo, children first since people and resources are protected."""
    mine = {"shop__slug": slug}
    Payment.objects.filter(job__shop__slug=slug).delete()
    for first in (Hold, KeptSlot, CustomerPage, CallDraft, PlanRun, CalendarFeed):
        first.objects.filter(**mine).delete()
    Quote.objects.filter(**mine).delete()
    Job.objects.filter(**mine).delete()
    Inspection.objects.filter(**mine).delete()
    Vehicle.objects.filter(**mine).delete()
    Customer.objects.filter(**mine).delete()
    Resource.objects.filter(**mine).delete()
    users = list(User.objects.filter(memberships__shop__slug=slug).values_list("pk", flat=True))
    Member.objects.filter(**mine).delete()
    User.objects.filter(pk__in=users).delete()
    plain: list[Any] = [Gauge, Consumable, Counter, Closure, OpeningHours]
    for kind in [*plain, *CatalogueRow.__subclasses__()]:
        kind.objects.filter(**mine).delete()
    Shop.objects.filter(slug=slug).delete()


def _hours_and_closures(shop: Shop, script: dict[str, Any], today: date) -> None:
    OpeningHours.objects.bulk_create(
        OpeningHours(
            shop=shop,
            weekday=weekday,
            opens=time.fromisoformat(row["opens"]),
            closes=time.fromisoformat(row["closes"]),
        )
        for row in script["opening"]
        for weekday in row["weekdays"]
    )
    for row in script["closures"]:
        first = today + timedelta(days=row["in_days"])
        Closure.objects.create(
            shop=shop,
            first_day=first,
            last_day=first + timedelta(days=row["days"] - 1),
            reason=row["reason"],
        )


def _people(shop: Shop, script: dict[str, Any], password: str) -> dict[str, Member]:
    members = {}
    for row in script["people"]:
        owner = row["role"] == Role.OWNER
        user = User.objects.create_user(row["username"], password=password, is_staff=owner)
        members[row["username"]] = Member.objects.create(
            shop=shop, user=user, role=row["role"], name=row["name"], phone=row["phone"]
        )
    return members


def _resources(shop: Shop, script: dict[str, Any], members: dict[str, Member]) -> None:
    for position, row in enumerate(script["resources"]):
        Resource.objects.create(shop=shop, position=position, **row)
    crew = [row for row in script["people"] if row["role"] == Role.TECHNICIAN]
    for position, row in enumerate(crew):
        resource = Resource.objects.create(
            shop=shop,
            kind="technician",
            code=row["username"],
            name=row["name"],
            skills=row["skills"],
            member=members[row["username"]],
            position=position,
        )
        Shift.objects.bulk_create(
            Shift(
                resource=resource,
                weekday=weekday,
                starts=time.fromisoformat(starts),
                ends=time.fromisoformat(ends),
            )
            for block in script["shifts"][row["shifts"]]
            for weekday in block["weekdays"]
            for starts, ends in block["windows"]
        )
