"""Customers: who they are, how to reach them, what they allow us to send."""

from __future__ import annotations

from datetime import datetime
from typing import TypedDict, Unpack

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from shop.models import Channel, Consent, ConsentPurpose, Customer, Shop
from shop.phones import to_e164
from shop.refusals import Problem, Refused
from shop.services.checked import row_save


class CustomerFacts(TypedDict, total=False):
    """What may be said about a customer; a phone is read as dialled in the shop's country."""

    name: str
    phone: str
    email: str
    zone: str
    notes: str


def customer_add(*, shop: Shop, **facts: Unpack[CustomerFacts]) -> Customer:
    """Write a new customer down.

    Raises
    ------
    Refused
        By field: no name, no way to reach them, a phone or an address that cannot be.
    """
    return _saved(Customer(shop=shop), facts)


def customer_change(*, customer: Customer, **facts: Unpack[CustomerFacts]) -> Customer:
    """Change what is known about a customer; what is not given stays.

    Raises
    ------
    Refused
        As for :func:`customer_add`; ``customer`` is then as it was.
    """
    return _saved(Customer.objects.select_related("shop").get(pk=customer.pk), facts)


def consent_set(
    *,
    customer: Customer,
    channel: str,
    purpose: str,
    granted: bool,
    source: str,
    now: datetime,
) -> Consent:
    """Record what a customer said about one channel and purpose; the last word stands.

    Race: a form and a phone call at once. The row is locked and the later of the
    two is kept, whichever is written first.

    Raises
    ------
    Refused
        An unknown channel or purpose, or no source: a consent nobody can show is none.
    """
    problems = []
    if channel not in Channel.values:
        problems.append(_choose("channel", channel, Channel.values))
    if purpose not in ConsentPurpose.values:
        problems.append(_choose("purpose", purpose, ConsentPurpose.values))
    if not source.strip():
        problems.append(Problem(_("Say how it was given: by phone, form or link."), "source"))
    if problems:
        raise Refused(*problems)
    with transaction.atomic():
        said = {"granted": granted, "said_at": now, "source": source.strip()[:80]}
        consent, made = Consent.objects.select_for_update().get_or_create(
            customer=customer, channel=channel, purpose=purpose, defaults=said
        )
        if not made and consent.said_at <= now:
            consent.granted, consent.said_at, consent.source = granted, now, str(said["source"])
            consent.save(update_fields=["granted", "said_at", "source"])
    return consent


def _choose(field: str, given: str, allowed: list[str]) -> Problem:
    message = _("%(given)s is not known here; choose from %(allowed)s.")
    return Problem(message % {"given": given, "allowed": ", ".join(allowed)}, field)


def _saved(customer: Customer, facts: CustomerFacts) -> Customer:
    for name, value in facts.items():
        setattr(customer, name, str(value).strip())
    problems = []
    if facts.get("phone", "").strip():
        try:
            customer.phone = to_e164(customer.phone, customer.shop.country)
        except ValidationError as error:
            problems.append(Problem(" ".join(error.messages), field="phone"))
    row_save(customer, *problems)
    return customer
