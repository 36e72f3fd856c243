"""Accepting a quote and booking its job happen together or not at all."""

from datetime import timedelta

import pytest

from estimating.models import QuoteState
from scheduling.models import Hold
from scheduling.services.bookings import SlotTaken, quote_book
from scheduling.services.offers import offers_find, operations_of_quote
from shop.models import Job, JobState
from shop.refusals import Refused
from tests.factories import NOW, QuoteFactory
from tests.scheduling.shops import agrees, small_shop

pytestmark = pytest.mark.django_db


def open_quote(small):
    quote = QuoteFactory(shop=small.shop)
    agrees(quote.customer)
    return quote


def test_a_booked_job_with_the_operations_of_the_quote():
    small = small_shop()
    quote = open_quote(small)
    job = quote_book(quote=quote, member=small.desk, now=NOW)
    assert job.state == JobState.BOOKED
    assert (quote.state, quote.job) == (QuoteState.ACCEPTED, job)
    assert [row.name for row in job.operations.all()] == ["Machine correction"]
    assert Hold.objects.filter(job=job, operation=job.operations.get()).exists()


def test_a_slot_that_is_gone_leaves_the_quote_open():
    small = small_shop()
    quote, rival = open_quote(small), open_quote(small)
    operations = operations_of_quote(quote)
    offer = offers_find(shop=small.shop, operations=operations, earliest=NOW, now=NOW).found[0]
    quote_book(quote=rival, member=small.desk, now=NOW)
    with pytest.raises(SlotTaken):
        quote_book(quote=quote, member=small.desk, now=NOW, offer=offer)
    assert (quote.state, quote.job) == (QuoteState.OPEN, None)
    quote.refresh_from_db()
    assert quote.state == QuoteState.OPEN
    assert Job.objects.count() == 1


def test_a_quote_that_has_run_out_books_nothing():
    small = small_shop()
    quote = open_quote(small)
    with pytest.raises(Refused):
        quote_book(quote=quote, member=small.desk, now=quote.valid_until + timedelta(hours=20))
    assert not Job.objects.exists()
    assert not Hold.objects.exists()
