"""What the names in braces of a message stand for."""

from __future__ import annotations

from django.utils.translation import gettext as _

from estimating.models import Quote
from scheduling.models import Reminder, ReminderPurpose
from scheduling.services.purposes import PURPOSES
from scheduling.services.reminder_causes import balance_text
from scheduling.services.when import moment_text
from shop.models import Job, Member, Shop
from shop.money import rounded

COMMON = ("shop", "shop_phone")
READ_WITH = (
    "shop",
    "customer",
    "member__user",
    "job__shop",
    "job__customer",
    "job__vehicle",
    "quote__customer",
    "quote__vehicle",
)
"""What a message needs of its records, for one query."""


def names_of(purpose: str) -> tuple[str, ...]:
    """Every name that may stand in braces in a message of this purpose."""
    return (*PURPOSES[purpose].names, *COMMON)


def facts_of(reminder: Reminder) -> dict[str, str]:
    """What the names stand for in one message; moments are on the shop's clock."""
    shop = reminder.shop
    facts = shop_facts(shop)
    if reminder.job is not None:
        facts |= job_facts(reminder.job, shop)
        if reminder.purpose == ReminderPurpose.BALANCE_DUE:
            facts["amount"] = balance_text(reminder.job)
    if reminder.quote is not None:
        facts |= quote_facts(reminder.quote, shop)
    if isinstance(reminder.reader, Member):
        facts["person"] = reminder.reader.name
    return facts | {name: str(value) for name, value in reminder.facts.items()}


def facts_near(shop: Shop, purpose: str) -> dict[str, str]:
    """Facts of the newest message of this purpose, else of the newest visit: for a preview."""
    newest = (
        Reminder.objects.of(shop)
        .filter(purpose=purpose)
        .select_related(*READ_WITH)
        .order_by("-pk")
        .first()
    )
    if newest is not None:
        return facts_of(newest)
    job = Job.objects.of(shop).select_related("customer", "vehicle").order_by("-pk").first()
    return shop_facts(shop) | (job_facts(job, shop) if job is not None else {})


def shop_facts(shop: Shop) -> dict[str, str]:
    """The shop's own name and how to reach it."""
    return {"shop": shop.name, "shop_phone": shop.phone or shop.email}


def job_facts(job: Job, shop: Shop) -> dict[str, str]:
    """A visit: who, what, when."""
    unknown = _("a time we will tell you")
    return {
        "customer": job.customer.name,
        "drop_off": moment_text(job.arrives_at, shop) if job.arrives_at else unknown,
        "job": job.number,
        "pick_up": moment_text(job.promised_at, shop) if job.promised_at else unknown,
        "vehicle": job.vehicle.description,
    }


def quote_facts(quote: Quote, shop: Shop) -> dict[str, str]:
    """A quote: for whom, how much, how long."""
    shown = quote.price + (quote.tax if shop.tax_inclusive else 0)
    return {
        "customer": quote.customer.name,
        "vehicle": quote.vehicle.description,
        "quote": str(quote),
        "price": f"{rounded(shown, quote.currency)} {quote.currency}",
        "valid_until": moment_text(quote.valid_until, shop),
    }
