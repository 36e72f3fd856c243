"""Taking money for a job."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from shop.models import Job, Member, Payment, PaymentMethod
from shop.money import minor_units
from shop.refusals import Problem, Refused
from shop.services.job_state import job_note
from shop.signals import payment_recorded


@transaction.atomic
def payment_record(
    *,
    job: Job,
    amount: Decimal,
    method: str,
    member: Member,
    now: datetime,
    note: str = "",
) -> Payment:
    """Keep what was paid for a job, in its currency; below zero is money given back.

    Raises
    ------
    Refused
        The amount is zero, no number or finer than the currency's smallest unit; the
        method is not known; or the job is another shop's.
    """
    if job.shop_id != member.shop_id:
        raise Refused(Problem(_("This belongs to another shop."), field="job"))
    places = minor_units(job.currency)
    if not amount.is_finite() or amount == 0 or amount != round(amount, places):
        message = _("%(amount)s %(currency)s: write an amount with at most %(places)s decimals.")
        facts = {"amount": amount, "currency": job.currency, "places": places}
        raise Refused(Problem(message % facts, field="amount"))
    if method not in PaymentMethod.values:
        message = _("%(method)r: use one of %(known)s.")
        facts = {"method": method, "known": ", ".join(PaymentMethod.values)}
        raise Refused(Problem(message % facts, field="method"))
    paid = Payment.objects.create(
        job=job, amount=amount, method=method, at=now, member=member, note=note.strip()[:120]
    )
    job_note(
        job=job,
        kind="payment",
        now=now,
        member=member,
        why=f"{amount} {job.currency}, {paid.get_method_display()}",
        details={"payment": paid.pk},
    )
    payment_recorded.send(sender=Payment, job=job, member=member, now=now)
    return paid
