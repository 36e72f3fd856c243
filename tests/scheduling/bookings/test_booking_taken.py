"""When somebody else was first, the answer says who has what and when, and what is free."""

from datetime import timedelta

import pytest

from scheduling.models import Hold
from scheduling.services import settle
from scheduling.services.bookings import SlotTaken, booking_make
from scheduling.services.offers import Offers, offers_find
from shop.models import JobState
from shop.refusals import Conflict, Refused
from tests.factories import NOW
from tests.scheduling.shops import correction, quoted_job, small_shop

pytestmark = pytest.mark.django_db


def find(small, job, **more):
    operations = list(job.operations.all())
    return offers_find(shop=small.shop, operations=operations, earliest=NOW, now=NOW, **more)


def test_the_loser_is_told_resource_job_and_times_on_the_shops_clock():
    small = small_shop()
    first, second = quoted_job(small), quoted_job(small)
    offer = find(small, second).found[0]
    booking_make(job=first, member=small.desk, now=NOW)
    with pytest.raises(SlotTaken) as taken:
        booking_make(job=second, member=small.desk, now=NOW, offer=offer)
    said = str(taken.value)
    assert isinstance(taken.value, Conflict)
    assert f"Correction bay is kept for {first.number}, Mon 2 Mar 09:00 to" in said
    assert f"{small.crew.name} is kept for {first.number}, Mon 2 Mar 09:00 to 11:00." in said


def test_the_alternatives_offered_can_be_booked():
    small = small_shop()
    first, second = quoted_job(small), quoted_job(small)
    offer = find(small, second).found[0]
    booking_make(job=first, member=small.desk, now=NOW)
    with pytest.raises(SlotTaken) as taken:
        booking_make(job=second, member=small.desk, now=NOW, offer=offer)
    second.refresh_from_db()
    assert second.state == JobState.QUOTED
    assert "Free instead: bring it Mon 2 Mar 1" in str(taken.value)
    booking_make(job=second, member=small.desk, now=NOW, offer=taken.value.offers[0])
    assert second.state == JobState.BOOKED


def test_what_was_found_and_then_taken_is_looked_for_again(monkeypatch):
    # The first search still sees the calendar as it was before the other booking.
    small = small_shop()
    first, second = quoted_job(small), quoted_job(small)
    stale = find(small, second)
    booking_make(job=first, member=small.desk, now=NOW)
    answers = [stale]

    def search(**given):
        return answers.pop() if answers else offers_find(**given)

    monkeypatch.setattr(settle, "offers_find", search)
    booking_make(job=second, member=small.desk, now=NOW)
    assert second.state == JobState.BOOKED
    assert second.arrives_at > stale.found[0].arrives_at


def test_an_offer_whose_drop_off_has_passed_is_refused():
    small = small_shop()
    job = quoted_job(small)
    offer = find(small, job).found[0]
    with pytest.raises(Refused, match="Mon 2 Mar 09:00, has passed"):
        booking_make(job=job, member=small.desk, now=NOW + timedelta(hours=1), offer=offer)
    assert not Hold.objects.exists()


def test_no_place_at_all_is_refused_with_reasons(monkeypatch):
    small = small_shop()
    job = quoted_job(small, correction(900, attendance="through"))
    with pytest.raises(Refused, match="no shift"):
        booking_make(job=job, member=small.desk, now=NOW)
    empty = Offers([], ["Everything is booked."])
    monkeypatch.setattr(settle, "offers_find", lambda **_given: empty)
    with pytest.raises(Refused, match="Everything is booked"):
        booking_make(job=quoted_job(small), member=small.desk, now=NOW)
