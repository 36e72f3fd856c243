"""One phone call: caller, vehicle, quote and, if they say yes, the booking, all or nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from estimating.core.options import Options
from estimating.models import Inspection, Quote
from estimating.services.quotes import quote_make
from scheduling.models import KeptSlot
from scheduling.services.again import tried_again
from scheduling.services.bookings import quote_book
from scheduling.services.offers import Offer
from shop.models import Customer, Job, Member, Vehicle
from shop.refusals import Problem, Refused
from shop.services.checked import row_problems
from shop.services.customers import customer_add
from shop.services.vehicles import vehicle_add, vehicle_change


@dataclass(frozen=True)
class Caller:
    """Who calls about what: known rows, or what was said about new ones.

    ``vehicle`` wins over ``customer``, and both over ``person`` and ``facts``;
    ``answers`` are what was said about a known vehicle's paint and life.
    """

    vehicle: Vehicle | None = None
    customer: Customer | None = None
    person: Mapping[str, Any] = field(default_factory=dict)
    facts: Mapping[str, Any] = field(default_factory=dict)
    answers: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Wish:
    """What is wanted: a goal, the options beside correction, and perhaps another price."""

    goal: Mapping[str, Any]
    options: Options
    inspection: Inspection | None = None
    price: Decimal | None = None
    reason: str = ""
    replaces: Quote | None = None
    discount_share: Decimal | None = None


@tried_again
@transaction.atomic
def call_quote(*, member: Member, caller: Caller, wish: Wish, now: datetime) -> Quote:
    """Write the caller and the vehicle down where they are new, and make the quote.

    Raises
    ------
    Refused
        By field, the problems of caller and vehicle together; nothing is written.
    """
    vehicle = _vehicle(member, caller)
    return quote_make(
        shop=member.shop,
        member=member,
        customer=vehicle.customer,
        vehicle=vehicle,
        goal=wish.goal,
        options=wish.options,
        now=now,
        inspection=wish.inspection,
        price=wish.price,
        reason=wish.reason,
        replaces=wish.replaces,
        discount_share=wish.discount_share,
    )


@tried_again
@transaction.atomic
def call_book(
    *,
    member: Member,
    caller: Caller,
    wish: Wish,
    now: datetime,
    offer: Offer | None = None,
    kept: KeptSlot | None = None,
) -> Job:
    """Make the quote, accept it and book ``offer``, or what was ``kept`` for the caller.

    Raises
    ------
    Refused
        As for :func:`call_quote`.
    SlotTaken
        The offer is gone; nothing is written, not even the caller.
    """
    quote = call_quote(member=member, caller=caller, wish=wish, now=now)
    return quote_book(quote=quote, member=member, now=now, offer=offer, kept=kept)


def _vehicle(member: Member, caller: Caller) -> Vehicle:
    if caller.vehicle is not None:
        if caller.answers:
            return vehicle_change(vehicle=caller.vehicle, **caller.answers)
        return caller.vehicle
    if caller.customer is not None:
        return vehicle_add(customer=caller.customer, **caller.facts)
    try:
        customer = customer_add(shop=member.shop, **caller.person)
    except Refused as refused:
        # The whole form is refused once, not field by field.
        raise Refused(*refused.problems, *_vehicle_problems(member, caller)) from refused
    return vehicle_add(customer=customer, **caller.facts)


def _vehicle_problems(member: Member, caller: Caller) -> list[Problem]:
    """What is wrong with a new vehicle apart from its owner, who could not be written down."""
    return [
        problem
        for problem in row_problems(Vehicle(shop=member.shop, **caller.facts))
        if problem.field != "customer"
    ]
