"""What each of the three calendars shows, and what it must not."""

from __future__ import annotations

from datetime import timedelta

import pytest

from scheduling.services.bookings import booking_make
from scheduling.services.feeds import feed_text
from scheduling.services.visit_feeds import visit_feed_token
from tests.factories import NOW
from tests.scheduling.feeds.reading import open_feed, read
from tests.scheduling.shops import coat, correction, cure, quoted_job, small_shop, wash

pytestmark = pytest.mark.django_db


@pytest.fixture
def small():
    return small_shop(address="1 Example Road, Springfield")


@pytest.fixture
def job(small):
    made = quoted_job(small, wash(30), correction(600), coat(60), cure(720))
    made.customer.name, made.customer.phone = "Quiet Person", "+12025550177"
    made.customer.save()
    return booking_make(job=made, member=small.desk, now=NOW, earliest=NOW)


def test_a_bay_shows_one_stay_through_the_night(small, job):
    # Washed Monday 09:00 to 09:30; ten hours of correction are 7.5 on Monday until 17:00
    # and 2.5 on Tuesday from 08:00: in the bay from 09:30 to 10:30 of the next day.
    (stay,) = read(open_feed(small.correction, small.owner, NOW), NOW)
    assert stay["start"] == NOW + timedelta(minutes=30)
    assert stay["end"] == NOW + timedelta(days=1, hours=1, minutes=30)
    assert (stay["place"], stay["summary"]) == ("Correction bay", job.vehicle.description)


def test_a_technician_shows_each_stretch_with_work_vehicle_and_place(small, job):
    pieces = read(open_feed(small.crew, small.tech, NOW), NOW)
    vehicle = job.vehicle.description
    assert [one["summary"].split(":")[0] for one in pieces].count("Prep wash") == 1
    assert all(vehicle in one["summary"] for one in pieces)
    first, second = (one for one in pieces if one["place"] == "Correction bay")
    # The night between: 17:00 to 08:00.
    assert second["start"] - first["end"] == timedelta(hours=15)
    assert len({one["uid"] for one in pieces}) == len(pieces) == 4


def test_nobody_reads_a_customers_name_or_number_in_the_shops_calendars(small, job):
    for resource in (small.correction, small.crew):
        found = feed_text(token=open_feed(resource, small.owner, NOW), now=NOW)
        assert b"BEGIN:VEVENT" in found.body
        assert b"5550177" not in found.body
        assert b"Quiet" not in found.body


def test_a_customer_sees_drop_off_and_pick_up_at_the_shops_address(small, job):
    arrive, collect = read(visit_feed_token(job=job, now=NOW), NOW)
    assert (arrive["start"], collect["start"]) == (job.arrives_at, job.promised_at)
    assert arrive["place"] == collect["place"] == "1 Example Road, Springfield"
    assert arrive["summary"].startswith("Bring your ")
    assert collect["summary"].startswith("Collect your ")


def test_the_customers_address_stays_until_it_is_made_anew(small, job):
    token = visit_feed_token(job=job, now=NOW)
    assert visit_feed_token(job=job, now=NOW) == token
    other = visit_feed_token(job=job, now=NOW, anew=True)
    assert other != token
    assert feed_text(token=token, now=NOW) is None
    assert feed_text(token=other, now=NOW) is not None
