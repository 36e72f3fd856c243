"""A caller asks; nothing has been offered yet."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from shop.models import Customer, Job, JobEvent, JobState, Member, Vehicle
from shop.services.numbers import number_next


@transaction.atomic
def enquiry_open(
    *, customer: Customer, vehicle: Vehicle, title: str, member: Member, now: datetime
) -> Job:
    """Open a job in the state of an enquiry, at the shop's rates and without a price."""
    shop = customer.shop
    job = Job.objects.create(
        shop=shop,
        number=number_next(shop=shop, series="J"),
        customer=customer,
        vehicle=vehicle,
        state=JobState.ENQUIRY,
        title=title,
        currency=shop.currency,
        price=0,
        labour_rate=shop.labour_rate,
        bay_rate=shop.bay_rate,
        overhead_rate=shop.overhead_rate,
    )
    JobEvent.objects.create(
        job=job, kind="state", to_state=JobState.ENQUIRY, at=now, member=member, why=title
    )
    return job
