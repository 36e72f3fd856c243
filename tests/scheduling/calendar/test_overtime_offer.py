"""Overtime is a choice of its own with its price, and never what happens by itself."""

from datetime import time, timedelta
from decimal import Decimal

import pytest

from scheduling.services.bookings import booking_make
from scheduling.services.offers import offers_find
from shop.selectors import job_costing
from tests.factories import NOW, AbsenceFactory, OvertimeFactory
from tests.scheduling.shops import correction, quoted_job, small_shop

pytestmark = pytest.mark.django_db

# Monday, from 09:00 on: ten hours end at 10:00 on Tuesday, or at 19:00 on Monday with two hours
# of overtime. Customers come within opening hours, so that is fetched at 08:00 on Tuesday.
TEN_HOURS = correction(600, minutes_p10=600.0, minutes_p50=600.0, minutes_p90=600.0)


def asked(small, job, **more):
    return offers_find(
        shop=small.shop, operations=list(job.operations.all()), earliest=NOW, now=NOW, **more
    )


@pytest.fixture
def small():
    return small_shop(labour_rate=Decimal(40))


def test_the_offer_with_overtime_is_apart_and_priced(small):
    OvertimeFactory(resource=small.crew, overtime_factor="1.5")
    job = quoted_job(small, TEN_HOURS)
    offers = asked(small, job, with_overtime=True)
    assert offers.overtime is not None
    assert offers.overtime.pick_up_at < offers.found[0].pick_up_at
    assert all(not offer.overtime for offer in offers.found)
    (use,) = offers.overtime.overtime
    worked = timedelta(minutes=use.minutes)
    # 40 an hour, half as much again on top: 20 for each hour beyond 17:00.
    assert use.pay == offers.overtime.overtime_pay == 20 * Decimal(use.minutes) / 60
    shift_left = 17 - NOW.astimezone(small.shop.tz).hour
    assert worked == timedelta(hours=10 - shift_left)


def test_it_is_found_only_on_demand(small):
    OvertimeFactory(resource=small.crew)
    job = quoted_job(small, TEN_HOURS)
    plain = asked(small, job)
    assert plain.overtime is None
    booked = booking_make(job=job, member=small.owner, now=NOW)
    assert booked.promised_at == plain.found[0].promised_at
    assert booked.overtime_pay == 0


def test_its_pay_lands_in_the_jobs_costs(small):
    OvertimeFactory(
        resource=small.crew, overtime_factor=None, overtime_extra=Decimal("12.50"), ends=time(21)
    )
    job = quoted_job(small, TEN_HOURS)
    offer = asked(small, job, with_overtime=True).overtime
    booking_make(job=job, member=small.owner, now=NOW, offer=offer)
    costing = job_costing(job, now=NOW)
    assert costing.overtime.estimated == 0
    assert costing.overtime.actual == offer.overtime_pay > 0
    assert costing.cost.actual >= offer.overtime_pay


@pytest.mark.parametrize("reason", ["inside the shift", "away"])
def test_overtime_that_brings_nothing_is_not_offered(small, reason):
    if reason == "away":
        AbsenceFactory(
            resource=small.crew, start=NOW + timedelta(hours=7), end=NOW + timedelta(hours=15)
        )
        OvertimeFactory(resource=small.crew)
    else:
        OvertimeFactory(resource=small.crew, starts=time(9), ends=time(12))
    assert asked(small, quoted_job(small, TEN_HOURS), with_overtime=True).overtime is None


def test_it_takes_no_query_more(small, django_assert_num_queries):
    job = quoted_job(small, TEN_HOURS)
    OvertimeFactory(resource=small.crew)
    rows = list(job.operations.all())
    with django_assert_num_queries(6):
        offers_find(
            shop=small.shop, operations=rows, earliest=NOW, now=NOW, count=1, with_overtime=True
        )
