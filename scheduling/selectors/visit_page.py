"""What stands behind the link of one customer: one quote in its versions, and its job."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final

from estimating.models import CustomerPage, Quote, QuoteState
from estimating.services.customer_pages import page_read
from shop.models import Customer, Job, JobState, Shop

LINK_DAYS: Final = timedelta(days=90)
"""How long a link lives on after the hand-over, or after an offer or a visit came to nothing."""


class VisitState(StrEnum):
    """Where the customer's business stands, which decides what the page shows."""

    QUOTE = "quote"
    OVER = "over"
    DECLINED = "declined"
    TO_BOOK = "to_book"
    BOOKED = "booked"
    WORK = "work"
    READY = "ready"
    AFTERCARE = "aftercare"
    OFF = "off"


_OF_JOB: Final = {
    JobState.ENQUIRY: VisitState.OFF,
    JobState.QUOTED: VisitState.TO_BOOK,
    JobState.BOOKED: VisitState.BOOKED,
    JobState.ON_SITE: VisitState.WORK,
    JobState.IN_WORK: VisitState.WORK,
    JobState.CURING: VisitState.WORK,
    JobState.READY: VisitState.READY,
    JobState.HANDED_OVER: VisitState.AFTERCARE,
    JobState.CLOSED: VisitState.AFTERCARE,
    JobState.CANCELLED: VisitState.OFF,
    JobState.NO_SHOW: VisitState.OFF,
}


@dataclass(frozen=True)
class Visit:
    """``versions`` of the quote stand oldest first; ``quote`` is the newest of them."""

    page: CustomerPage
    versions: tuple[Quote, ...]
    state: VisitState

    @property
    def shop(self) -> Shop:
        return self.page.shop

    @property
    def quote(self) -> Quote:
        return self.versions[-1]

    @property
    def customer(self) -> Customer:
        return self.quote.customer

    @property
    def job(self) -> Job | None:
        return self.quote.job


def visit_of(token: str, now: datetime) -> Visit | None:
    """Return what a link shows, in two queries; None where it is wrong, withdrawn or over."""
    page = page_read(token)
    if page is None:
        return None
    rows = Quote.objects.of(page.shop).filter(number=page.quote_number).order_by("version")
    versions = tuple(rows.select_related("customer", "vehicle", "inspection", "member", "job"))
    if not versions:
        return None
    for quote in versions:
        quote.shop = quote.customer.shop = quote.vehicle.shop = quote.member.shop = page.shop
        if quote.job is not None:
            quote.job.shop, quote.job.customer = page.shop, quote.customer
            quote.job.vehicle = quote.vehicle
    visit = Visit(page, versions, _state(versions[-1], now))
    return None if now >= _ends_at(visit) else visit


def _state(quote: Quote, now: datetime) -> VisitState:
    if quote.job is not None:
        return _OF_JOB[JobState(quote.job.state)]
    if quote.state == QuoteState.DECLINED:
        return VisitState.DECLINED
    return VisitState.QUOTE if now < quote.valid_until else VisitState.OVER


def _ends_at(visit: Visit) -> datetime:
    """A job under way keeps its link whatever the calendar says."""
    job, last = visit.job, visit.quote.valid_until
    if visit.state == VisitState.AFTERCARE:
        assert job is not None
        last = job.handed_over_at or last
    elif job is not None:
        if visit.state != VisitState.OFF:
            return datetime.max.replace(tzinfo=last.tzinfo)
        last = max(last, job.arrives_at or last)
    return last + LINK_DAYS
