"""What stands before a visit in its bay and with its people counts in its promise."""

from datetime import timedelta

import pytest

from scheduling.models import Hold
from scheduling.services.bookings import booking_make
from scheduling.services.offers import offers_find
from tests.factories import NOW
from tests.scheduling.shops import coat, correction, cure, quoted_job, small_shop

pytestmark = pytest.mark.django_db

STEADY = {"minutes_p10": 60.0, "minutes_p50": 60.0, "minutes_p90": 60.0}
UNSURE = {"minutes_p10": 40.0, "minutes_p50": 60.0, "minutes_p90": 200.0}


def offer_after(small, now=NOW, **before):
    """The offer for an hour of certain work, behind an hour that was booked as certain.

    ``before`` is what is known of that hour since then.
    """
    first = quoted_job(small, correction(60, **STEADY))
    booking_make(job=first, member=small.owner, now=NOW)
    first.operations.update(**before)
    job = quoted_job(small, correction(60, **STEADY))
    rows = list(job.operations.all())
    found = offers_find(shop=small.shop, operations=rows, earliest=NOW, now=now, count=1).found
    return first, found[0]


def test_work_behind_an_unsure_job_is_promised_later():
    _, calm = offer_after(small_shop(), **STEADY)
    small = small_shop()
    _, late = offer_after(small, **UNSURE)
    assert calm.arrives_at == late.arrives_at
    assert calm.promised_at == calm.pick_up_at
    # Nine in ten of the job before take up to 200 minutes instead of 60.
    assert late.promised_at - late.pick_up_at >= timedelta(minutes=135)
    assert late.promise_probability >= small.shop.promise_probability


def test_a_finished_job_delays_nobody():
    small = small_shop()
    first, _ = offer_after(small, **UNSURE)
    first.operations.update(state="done")
    rows = list(quoted_job(small, correction(60, **STEADY)).operations.all())
    (offer,) = offers_find(shop=small.shop, operations=rows, earliest=NOW, now=NOW, count=1).found
    assert offer.promised_at == offer.pick_up_at


def test_a_job_that_is_moved_does_not_wait_for_itself():
    small = small_shop()
    job = booking_make(job=quoted_job(small, correction(60, **UNSURE)), member=small.owner, now=NOW)
    rows = list(job.operations.all())
    (alone,) = offers_find(
        shop=small.shop, operations=rows, earliest=NOW, now=NOW, count=1, ignoring=job
    ).found
    assert alone.promised_at == job.promised_at


def test_work_that_should_have_begun_begins_now_at_the_earliest():
    small = small_shop()
    first, calm = offer_after(small, **STEADY)
    rows = list(quoted_job(small, correction(60, **STEADY)).operations.all())
    now = first.arrives_at + timedelta(minutes=45)
    (late,) = offers_find(shop=small.shop, operations=rows, earliest=NOW, now=now, count=1).found
    assert late.arrives_at == calm.arrives_at
    assert late.promised_at >= late.pick_up_at + timedelta(minutes=45)


def test_a_bay_is_freed_when_the_vehicle_leaves_it():
    """The cure is in the way of the next coat for as long as it really takes."""
    small = small_shop()
    slow = {"minutes_p10": 500.0, "minutes_p50": 720.0, "minutes_p90": 1500.0}
    job = quoted_job(small, coat(60, **STEADY), cure(720))
    booking_make(job=job, member=small.owner, now=NOW)
    job.operations.filter(kind="cure").update(**slow)
    rows = list(quoted_job(small, coat(60, **STEADY)).operations.all())
    (offer,) = offers_find(shop=small.shop, operations=rows, earliest=NOW, now=NOW, count=1).found
    assert offer.promised_at > offer.pick_up_at


@pytest.mark.parametrize("bookings", [1, 12])
def test_one_query_however_much_is_booked(bookings, django_assert_num_queries):
    small = small_shop()
    for _ in range(bookings):
        job = quoted_job(small, correction(60), coat(60), cure(600), agree=False)
        booking_make(job=job, member=small.owner, now=NOW)
    assert Hold.objects.exists()
    rows = list(quoted_job(small, correction(60)).operations.all())
    with django_assert_num_queries(6):
        offers_find(shop=small.shop, operations=rows, earliest=NOW, now=NOW, count=1)
