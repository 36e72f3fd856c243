"""Offers from the kept calendar are those from the rows, and the rows have the last word."""

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from scheduling.models import Hold
from scheduling.services import calendar_kept as kept_module
from scheduling.services.bookings import booking_make
from scheduling.services.calendar_kept import calendar_kept
from scheduling.services.offers import offers_find
from tests.factories import NOW
from tests.scheduling.shops import quoted_job, small_shop

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def small():
    kept_module._kept.clear()
    return small_shop()


def ask(small, job):
    rows = list(job.operations.order_by("sequence"))
    return offers_find(shop=small.shop, operations=rows, earliest=NOW, now=NOW)


def test_the_same_offers_from_memory_and_from_the_rows(small):
    booking_make(job=quoted_job(small), member=small.desk, now=NOW)
    job = quoted_job(small)
    for _ in range(2):
        kept = ask(small, job)
        with transaction.atomic():
            read = ask(small, job)
        assert len(kept.found) == 3
        assert kept == read


def test_asking_writes_nothing(small):
    job = quoted_job(small)
    with CaptureQueriesContext(connection) as done:
        ask(small, job)
    asked = [one["sql"].split(maxsplit=1)[0] for one in done.captured_queries]
    assert asked
    assert not {"INSERT", "UPDATE", "DELETE"} & {word.upper() for word in asked}


def test_what_memory_has_wrong_is_never_offered(small):
    booking_make(job=quoted_job(small), member=small.desk, now=NOW)
    job = quoted_job(small)
    right = ask(small, job)
    kept = calendar_kept(shop=small.shop, start=NOW, now=NOW)
    for hold in Hold.objects.all():
        key = f"r{hold.resource_id}"
        kept.index.remove(key, kept.minute(hold.start), kept.minute(hold.end))
    assert ask(small, job) == right
