"""An accepted quote as a job: at the costs and rates of its snapshot, with its work."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from estimating.models import Quote
from shop.models import (
    Consumable,
    Job,
    JobEvent,
    JobState,
    Member,
    Operation,
    PlannedMaterial,
)
from shop.refusals import Refused
from shop.services.job_state import job_move, whose
from shop.services.numbers import number_next


def job_of_quote(*, quote: Quote, member: Member | None, now: datetime) -> Job:
    """Write the job of a quote with its operations and planned materials.

    The caller has the quote's row locked and is inside a transaction.

    Raises
    ------
    Refused
        A material of the quote is no longer on the shelf's list.
    """
    job = _job(quote, member, now)
    Operation.objects.bulk_create(Operation(job=job, **row) for row in quote.operations)
    PlannedMaterial.objects.bulk_create(_planned_materials(quote, job))
    return job


def _job(quote: Quote, member: Member | None, now: datetime) -> Job:
    """The vehicle's open enquiry where there is one, or a new job."""
    enquiries = Job.objects.select_for_update().filter(
        shop=quote.shop, vehicle=quote.vehicle, state=JobState.ENQUIRY
    )
    facts = _job_facts(quote)
    job = enquiries.order_by("pk").first()
    if job is not None:
        for name, value in facts.items():
            setattr(job, name, value)
        job.save(update_fields=list(facts))
        job_move(
            job=job,
            to=JobState.QUOTED,
            now=now,
            member=member,
            why=quote.title,
            details=whose(member),
        )
        return job
    job = Job.objects.create(
        shop=quote.shop,
        number=number_next(shop=quote.shop, series="J"),
        state=JobState.QUOTED,
        **facts,
    )
    JobEvent.objects.create(
        job=job,
        kind="state",
        to_state=JobState.QUOTED,
        at=now,
        member=member,
        why=quote.title,
        details=whose(member),
    )
    return job


def _job_facts(quote: Quote) -> dict[str, Any]:
    """What a job takes from its quote: whose it is, costs and rates of the snapshot."""
    cost, terms = quote.parameters["offer"]["cost"], quote.parameters["terms"]
    return {
        "customer": quote.customer,
        "vehicle": quote.vehicle,
        "title": quote.title,
        "currency": quote.currency,
        "price": quote.price,
        "estimated_labour": Decimal(cost["labour"]),
        "estimated_bay": Decimal(cost["bay"]),
        "estimated_materials": Decimal(cost["materials"]),
        # The offer counts the card fee under overhead; a job keeps the two apart.
        "estimated_overhead": Decimal(cost["overhead"]) - Decimal(cost["card_fee"]),
        "card_fee": Decimal(cost["card_fee"]),
        "labour_rate": Decimal(terms["labour_rate"]),
        "bay_rate": Decimal(terms["bay_rate"]),
        "overhead_rate": Decimal(terms["overhead_rate"]),
    }


def _planned_materials(quote: Quote, job: Job) -> list[PlannedMaterial]:
    codes = [row["code"] for row in quote.materials]
    shelf = {row.code: row for row in Consumable.objects.of(quote.shop).filter(code__in=codes)}
    lost = [row["name"] for row in quote.materials if row["code"] not in shelf]
    if lost:
        message = _("%s: no longer on the shelf's list; add it again, or make a new version.")
        raise Refused(message % ", ".join(lost))
    return [
        PlannedMaterial(
            job=job,
            consumable=shelf[row["code"]],
            quantity=Decimal(row["quantity"]),
            unit=row["unit"],
            cost=Decimal(row["cost"]),
        )
        for row in quote.materials
    ]
