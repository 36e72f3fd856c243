"""Quotes: made as snapshots, sent, declined, and accepted into a job."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, time, timedelta
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from estimating import selectors, snapshot
from estimating.core.costing import Priced, discounted, priced_at
from estimating.core.estimate import estimate
from estimating.core.formats import read_inspection, write_estimate
from estimating.core.inspection import Goal
from estimating.core.options import Options
from estimating.core.result import Estimate
from estimating.core.terms import ShopTerms
from estimating.models import Inspection, Quote, QuoteState
from estimating.refusing import core_refusals
from estimating.services.customer_pages import page_ensure
from estimating.services.quoted_jobs import job_of_quote
from estimating.signals import quote_sent, quote_settled
from shop.models import (
    Customer,
    Job,
    Member,
    Role,
    Shop,
    Vehicle,
)
from shop.refusals import Conflict, Forbidden, Problem, Refused
from shop.services.job_state import job_note, whose
from shop.services.numbers import number_next

_OPEN = (QuoteState.OPEN, QuoteState.SENT)
_LONGEST_WHY = 300
_ASKED_LATER = "asked for by _reason_below_floor"
_LEAST_MARGIN = Decimal("-9.99")  # what the column holds


def quote_make(  # noqa: PLR0913 - one keyword for each thing the desk chooses
    *,
    shop: Shop,
    member: Member,
    customer: Customer,
    vehicle: Vehicle,
    goal: Goal | Mapping[str, Any],
    options: Options,
    now: datetime,
    inspection: Inspection | None = None,
    price: Decimal | None = None,
    reason: str = "",
    replaces: Quote | None = None,
    discount_share: Decimal | None = None,
    again: Quote | None = None,
) -> Quote:
    """Offer work on a vehicle: from an inspection, or by what the caller told.

    Parameters
    ----------
    goal
        A goal, or the ``goal`` of a document.
    price
        Another price than the likely one, before tax.
    reason
        Why the price may lie under the floor margin; an owner's word only.
    replaces
        The quote of which this is the next version; it can no longer be accepted.
    discount_share
        What to take off the likely price, from 0 to below 1; not beside ``price``.
    again
        A quote whose findings, tables and rates are used instead of the day's, until its
        own last day: what a customer chooses beside an offer costs what it did then.

    Raises
    ------
    Refused
        Findings, goal, options or price are wrong, or there is nothing to do; or ``again``
        is no longer valid.
    Forbidden
        The price is under the floor margin and no owner gave a reason.
    """
    _refuse_foreign(shop, member, customer, vehicle, inspection, replaces)
    if again is None:
        document = _document(vehicle, inspection, goal, selectors.local_day(shop, now))
        catalogue = selectors.catalogue_for(shop, selectors.local_day(shop, now))
        terms = selectors.terms_for(shop)
        valid_until = _valid_until(shop, now)
    else:
        _refuse_over(again, now)
        document = snapshot.document_with(again.request, goal)
        catalogue, terms = snapshot.basis_of(again.parameters)
        valid_until = again.valid_until
    with core_refusals():
        made = estimate(read_inspection(document), catalogue, terms, options)
    operations = snapshot.operation_parts(made, float(shop.plan_quantile))
    if not operations:
        raise Refused(
            Problem(_("There is nothing to do: choose a wash, a coating or an add-on."), "options")
        )
    offered = offered_price(made, price, terms, discount_share)
    below = _reason_below_floor(offered, terms, member, reason)
    request = {
        "document": document,
        "options": snapshot.options_part(options),
        "inspection": inspection.pk if inspection else None,
        "inspection_version": inspection.version if inspection else None,
    }
    if again is not None:
        # What the findings were read from, and that a customer chose this.
        read = ("inspection", "inspection_version")
        request |= {name: again.request.get(name) for name in read} | {"chosen": True}
    parameters = snapshot.parameters_part(catalogue, document, options, terms)
    offer = snapshot.offer_part(offered, terms, discount_share, reason.strip()[:_LONGEST_WHY])
    with transaction.atomic():
        number, version = _numbered(shop, replaces, now)
        quote = Quote.objects.create(
            shop=shop,
            number=number,
            version=version,
            customer=customer,
            vehicle=vehicle,
            inspection=inspection,
            title=snapshot.title_of(made, catalogue),
            member=member,
            created_at=now,
            valid_until=valid_until,
            below_floor_reason=below,
            **_figures(made, offered),
            request=request,
            parameters=parameters | {"offer": offer},
            estimate=write_estimate(made),
            operations=operations,
            materials=snapshot.material_parts(made),
        )
        if version == 1:
            page_ensure(quote=quote, now=now, member=member)
        return quote


@transaction.atomic
def quote_send(*, quote: Quote, member: Member, now: datetime) -> Quote:
    """Note that a quote went to the customer; sending again keeps the first time.

    Raises
    ------
    Refused
        It is no longer open, or no longer valid.
    """
    locked = _locked_open(quote, member, now)
    sent_at = locked.sent_at or now
    kept = _keep(quote, locked, state=QuoteState.SENT, sent_at=sent_at)
    quote_sent.send(sender=Quote, quote=kept, now=now)
    return kept


@transaction.atomic
def quote_decline(*, quote: Quote, member: Member | None, now: datetime, why: str) -> Quote:
    """Note that the customer said no; that a quote has run out does not matter.

    ``member`` is None where customers say it themselves, through their page.

    Raises
    ------
    Refused
        It is no longer open, or no reason is given.
    """
    if not 0 < len(why.strip()) <= _LONGEST_WHY:
        message = _("Say why in 1 to %s letters; “no answer” is a reason.") % _LONGEST_WHY
        raise Refused(Problem(message, field="why"))
    locked = _locked_open(quote, member, None)
    kept = _keep(
        quote, locked, state=QuoteState.DECLINED, declined_at=now, declined_why=why.strip()
    )
    quote_settled.send(sender=Quote, quote=kept, now=now)
    return kept


@transaction.atomic
def quote_accept(*, quote: Quote, member: Member | None, now: datetime) -> Job:
    """Make a quote into a job with its operations and planned materials.

    ``member`` is None where customers accept it themselves, through their page.

    Race: two people accept one quote. Its row is locked first, so the second finds
    it accepted.

    Raises
    ------
    Conflict
        It was accepted already.
    Refused
        It was declined or replaced, or is no longer valid.
    """
    locked = _locked_open(quote, member, now)
    job = job_of_quote(quote=locked, member=member, now=now)
    job_note(
        job=job,
        kind="quote_accepted",
        now=now,
        member=member,
        why=str(locked),
        details={
            "quote": locked.number,
            "version": locked.version,
            "price": str(locked.price),
            **whose(member),
        },
    )
    _keep(quote, locked, state=QuoteState.ACCEPTED, accepted_at=now, job=job)
    quote_settled.send(sender=Quote, quote=quote, now=now)
    return job


def _refuse_foreign(
    shop: Shop,
    member: Member,
    customer: Customer,
    vehicle: Vehicle,
    inspection: Inspection | None,
    replaces: Quote | None,
) -> None:
    rows = {
        "member": member,
        "customer": customer,
        "vehicle": vehicle,
        "inspection": inspection,
        "replaces": replaces,
    }
    for field, row in rows.items():
        if row is not None and row.shop_id != shop.pk:
            raise Refused(Problem(_("This belongs to another shop."), field=field))
    if vehicle.customer_id != customer.pk:
        raise Refused(Problem(_("This vehicle is another customer's."), field="vehicle"))
    for field, other in (("inspection", inspection), ("replaces", replaces)):
        if other is not None and other.vehicle_id != vehicle.pk:
            raise Refused(Problem(_("This is about another vehicle."), field=field))
    if inspection is not None and not inspection.panels.exists():
        raise Refused(
            Problem(
                _("Nothing has been read yet; quote by phone, or inspect a panel first."),
                field="inspection",
            )
        )


def _document(
    vehicle: Vehicle, inspection: Inspection | None, goal: Goal | Mapping[str, Any], day: Any
) -> dict[str, Any]:
    if inspection is None:
        document = selectors.phone_document(vehicle, day=day)
    else:
        document = selectors.inspection_document(inspection)
    return document | {"goal": snapshot.goal_part(goal)}


def offered_price(
    made: Estimate, price: Decimal | None, terms: ShopTerms, discount_share: Decimal | None
) -> Priced:
    """The price offered: the likely one, less a discount, or the one that was asked for.

    Whether it may be offered is another question: see :func:`quote_make`.

    Raises
    ------
    Refused
        It is no amount, no share, or both at once.
    """
    if discount_share is not None:
        if price is not None:
            raise Refused(Problem(_("Give a price or a discount, not both."), field="discount"))
        if not (discount_share.is_finite() and 0 <= discount_share < 1):
            message = _("%s %%: take off from 0 to less than 100 %%.")
            raise Refused(Problem(message % f"{discount_share * 100:f}", field="discount"))
        # Who may go under the floor, and with what reason, is asked of every price alike.
        with core_refusals("discount"):
            return discounted(made.likely, discount_share, terms, owner_reason=_ASKED_LATER)
    if price is None:
        return made.likely
    cent = Decimal(1).scaleb(-terms.minor_units)
    if not price.is_finite() or price < 0 or price >= 10**9 or price % cent:
        message = _("%(price)s: write an amount from 0 up, in steps of %(cent)s.")
        raise Refused(Problem(message % {"price": price, "cent": cent}, field="price"))
    shown = price * (1 + terms.tax_rate) if terms.tax_inclusive else price
    offered = priced_at(shown, made.cost, terms)
    if offered.margin < _LEAST_MARGIN:
        message = _("%(price)s: not a tenth of the cost of %(cost)s; goodwill is a price of 0.")
        values = {"price": price, "cost": offered.cost.total}
        raise Refused(Problem(message % values, field="price"))
    return offered


def _reason_below_floor(offered: Priced, terms: ShopTerms, member: Member, reason: str) -> str:
    """The reason to keep, empty where none is needed."""
    if offered.margin >= terms.floor_margin and offered.net > 0:
        return ""
    if len(reason) > _LONGEST_WHY:
        raise Refused(Problem(_("Use at most %s letters.") % _LONGEST_WHY, field="reason"))
    if member.role != Role.OWNER or not reason.strip():
        message = _(
            "%(price)s leaves a margin of %(margin)s, under the floor of %(floor)s; "
            "an owner must say why."
        )
        values = {
            "price": offered.net,
            "margin": f"{offered.margin:.1%}",
            "floor": f"{terms.floor_margin:.1%}",
        }
        raise Forbidden(Problem(message % values, field="price"))
    return reason.strip()


def _figures(made: Estimate, offered: Priced) -> dict[str, Any]:
    """The columns that lists and reports sort by; prices before tax."""
    return {
        "currency": made.currency,
        "price": offered.net,
        "price_p10": made.low.net,
        "price_p50": made.likely.net,
        "price_p90": made.high.net,
        "tax": offered.tax,
        "margin": round(offered.margin, 5),
        "hours_p10": made.minutes.p10 / 60,
        "hours_p50": made.minutes.p50 / 60,
        "hours_p90": made.minutes.p90 / 60,
        "cleared": made.cleared,
    }


def _valid_until(shop: Shop, now: datetime) -> datetime:
    """Midnight of the shop's clock after the last day on which a quote holds."""
    last_day = selectors.local_day(shop, now) + timedelta(days=shop.quote_valid_days)
    midnight = datetime.combine(last_day + timedelta(days=1), time(), shop.tz)
    return midnight.astimezone(now.tzinfo)


def _numbered(shop: Shop, replaces: Quote | None, now: datetime) -> tuple[str, int]:
    """The number and version of a new quote; the one it replaces is closed.

    Race: two new versions at once, or one while the old is being accepted. The old
    row is locked first.
    """
    if replaces is None:
        return number_next(shop=shop, series="Q"), 1
    old = Quote.objects.select_for_update().get(pk=replaces.pk)
    if old.state in (QuoteState.ACCEPTED, QuoteState.REPLACED):
        raise Conflict(Problem(_already(old), field="replaces"))
    _keep(replaces, old, state=QuoteState.REPLACED)
    quote_settled.send(sender=Quote, quote=replaces, now=now)
    return old.number, old.version + 1


def _locked_open(quote: Quote, member: Member | None, now: datetime | None) -> Quote:
    """The quote, its row locked; refused unless open, and valid at ``now`` where given."""
    if member is not None and member.shop_id != quote.shop_id:
        raise Refused(Problem(_("This belongs to another shop."), field="quote"))
    locked = Quote.objects.select_for_update().get(pk=quote.pk)
    if locked.state == QuoteState.ACCEPTED:
        raise Conflict(_already(locked))
    if locked.state not in _OPEN:
        raise Refused(_already(locked))
    if now is not None:
        _refuse_over(locked, now)
    return locked


def _refuse_over(quote: Quote, now: datetime) -> None:
    if now >= quote.valid_until:
        last_day = (quote.valid_until - timedelta(seconds=1)).astimezone(quote.shop.tz)
        raise Refused(
            _("%(quote)s was valid until %(day)s; make a new version at today's rates.")
            % {"quote": quote, "day": last_day.date()}
        )


def _already(quote: Quote) -> str:
    return _("%(quote)s is %(state)s already.") % {
        "quote": quote,
        "state": quote.get_state_display().lower(),
    }


def _keep(quote: Quote, locked: Quote, **changes: Any) -> Quote:
    """Write changes to a locked row, and show them on the caller's instance."""
    for name, value in changes.items():
        setattr(locked, name, value)
        setattr(quote, name, value)
    locked.save(update_fields=list(changes))
    return quote
