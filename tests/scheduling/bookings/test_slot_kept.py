"""A kept slot keeps others out until its time has passed, and becomes a booking."""

from datetime import timedelta

import pytest

from scheduling.models import CalendarPolicy, Hold, KeptSlot
from scheduling.services.bookings import SlotTaken, booking_make, quote_book
from scheduling.services.kept import slot_keep, slot_release
from scheduling.services.lapse import slots_lapse
from scheduling.services.offers import offers_find, operations_of_quote
from shop.models import JobState
from shop.refusals import Conflict
from tests.factories import NOW, QuoteFactory
from tests.scheduling.shops import correction, quoted_job, small_shop

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)


@pytest.fixture
def small(db):
    return small_shop()


def first(small, job, now=NOW, **more):
    rows = list(job.operations.all())
    return offers_find(shop=small.shop, operations=rows, earliest=now, now=now, **more).found[0]


def keep(small, job, now=NOW, **more):
    offer = more.pop("offer", None) or first(small, job, now)
    rows = list(job.operations.all())
    return slot_keep(
        shop=small.shop, member=small.desk, operations=rows, offer=offer, now=now, **more
    )


def test_others_are_told_until_when_it_is_kept(small):
    job, other = quoted_job(small), quoted_job(small)
    offer = first(small, job)
    slot = keep(small, job)
    assert slot.kept_until == NOW + 10 * MINUTE
    with pytest.raises(SlotTaken, match="kept for another caller until Mon 2 Mar 09:10") as told:
        booking_make(job=other, member=small.desk, now=NOW, offer=offer)
    assert {one.kept_until for one in told.value.taken} == {slot.kept_until}
    assert told.value.offers
    assert first(small, other).arrives_at > offer.arrives_at


def test_when_its_time_has_passed_the_next_one_has_the_place(small):
    job, other = quoted_job(small), quoted_job(small)
    later = NOW + timedelta(days=1)
    offer = first(small, job, later)
    slot = keep(small, job, offer=offer)
    just_before, then = slot.kept_until - MINUTE, slot.kept_until
    with pytest.raises(SlotTaken):
        booking_make(job=other, member=small.desk, now=just_before, offer=offer)
    booking_make(job=other, member=small.desk, now=then, offer=offer)
    assert not KeptSlot.objects.exists()
    assert not Hold.objects.filter(job__isnull=True).exists()


def test_a_search_sees_it_free_from_the_same_moment(small):
    job = quoted_job(small)
    offer = first(small, job, NOW + timedelta(days=1))
    slot = keep(small, job, offer=offer)
    asked = {"shop": small.shop, "operations": list(job.operations.all())}
    before = offers_find(**asked, earliest=offer.arrives_at, now=slot.kept_until - MINUTE)
    after = offers_find(**asked, earliest=offer.arrives_at, now=slot.kept_until)
    assert before.found[0].arrives_at > offer.arrives_at
    assert after.found[0].arrives_at == offer.arrives_at


def test_it_becomes_the_booking_that_was_told(small):
    job = quoted_job(small)
    slot = keep(small, job)
    kept = set(slot.holds.values_list("resource", "start", "end"))
    booking_make(job=job, member=small.desk, now=NOW + MINUTE, kept=slot)
    assert job.state == JobState.BOOKED
    assert set(Hold.objects.filter(job=job).values_list("resource", "start", "end")) == kept
    assert not KeptSlot.objects.exists()


def test_kept_for_other_work_it_is_not_booked(small):
    slot = keep(small, quoted_job(small))
    longer = quoted_job(small, correction(240))
    with pytest.raises(Conflict, match="for other work"):
        booking_make(job=longer, member=small.desk, now=NOW, kept=slot)
    assert KeptSlot.objects.exists()


def test_lapsed_and_taken_the_booking_says_by_whom(small):
    job, other = quoted_job(small), quoted_job(small)
    offer = first(small, job, NOW + timedelta(days=1))
    slot = keep(small, job, offer=offer)
    booking_make(job=other, member=small.desk, now=slot.kept_until, offer=offer)
    with pytest.raises(SlotTaken, match=other.number):
        booking_make(job=job, member=small.desk, now=slot.kept_until, kept=slot)


def test_another_choice_lets_the_first_go(small):
    job = quoted_job(small)
    slot = keep(small, job)
    other = offers_find(
        shop=small.shop, operations=list(job.operations.all()), earliest=NOW, now=NOW
    ).found[1]
    second = keep(small, job, offer=other, instead=slot)
    assert KeptSlot.objects.get() == second
    assert Hold.objects.filter(kept=second).exists()


def test_a_quote_keeps_one_and_books_it(small):
    quote = QuoteFactory(shop=small.shop)
    rows = operations_of_quote(quote)
    found = offers_find(shop=small.shop, operations=rows, earliest=NOW, now=NOW).found
    asked = {"shop": small.shop, "member": small.desk, "operations": rows, "quote": quote}
    slot_keep(**asked, offer=found[0], now=NOW)
    slot = slot_keep(**asked, offer=found[1], now=NOW)
    assert KeptSlot.objects.get() == slot
    job = quote_book(quote=quote, member=small.desk, now=NOW + MINUTE)
    assert job.arrives_at == found[1].arrives_at
    assert not KeptSlot.objects.exists()


def test_the_shop_says_how_long(small):
    CalendarPolicy.objects.create(shop=small.shop, keep_minutes=25)
    assert keep(small, quoted_job(small)).kept_until == NOW + 25 * MINUTE


def test_let_go_by_hand_and_by_the_clock(small):
    job = quoted_job(small)
    slot = keep(small, job)
    assert slot_release(slot=slot)
    assert not slot_release(slot=slot)
    slot = keep(small, job)
    assert slots_lapse(now=slot.kept_until - MINUTE) == 0
    assert slots_lapse(now=slot.kept_until) == 1
    assert not Hold.objects.exists()
