"""One UID through moving, cancelling and coming back; SEQUENCE grows with each (3.8.7.4)."""

from __future__ import annotations

from datetime import timedelta

import pytest

from scheduling.models import FeedEntry
from scheduling.services.bookings import booking_cancel, booking_make, booking_move
from scheduling.services.floor import job_no_show
from tests.factories import NOW
from tests.scheduling.feeds.reading import open_feed, read
from tests.scheduling.shops import correction, quoted_job, small_shop

pytestmark = pytest.mark.django_db
DAY, HOUR = timedelta(days=1), timedelta(hours=1)


@pytest.fixture
def small():
    return small_shop()


@pytest.fixture
def job(small):
    made = quoted_job(small, correction(120))
    return booking_make(job=made, member=small.desk, now=NOW, earliest=NOW + DAY)


def only(token, now):
    (one,) = read(token, now)
    return one


def test_a_move_keeps_the_uid_and_raises_the_sequence(small, job):
    token = open_feed(small.correction, small.owner, NOW)
    first = only(token, NOW)
    assert (first["start"], first["sequence"], first["status"]) == (job.arrives_at, 0, "CONFIRMED")
    # Looking again is no change.
    assert only(token, NOW + HOUR) == first
    booking_move(job=job, member=small.desk, now=NOW + HOUR, earliest=NOW + 2 * DAY)
    moved = only(token, NOW + 2 * HOUR)
    assert (moved["uid"], moved["sequence"]) == (first["uid"], 1)
    assert moved["start"] == job.arrives_at > first["start"]
    assert moved["modified"] == moved["stamp"] == NOW + 2 * HOUR > first["modified"]


def test_cancelled_is_said_for_thirty_days(small, job):
    token = open_feed(small.correction, small.owner, NOW)
    first = only(token, NOW)
    booking_cancel(job=job, member=small.desk, now=NOW, why="Sold the car")
    for now in (NOW + HOUR, NOW + 30 * DAY):
        gone = only(token, now)
        assert (gone["uid"], gone["status"]) == (first["uid"], "CANCELLED")
        assert (gone["sequence"], gone["start"]) == (1, first["start"])
    assert read(token, NOW + HOUR + 30 * DAY) == []


def test_who_never_saw_it_is_not_told_that_it_is_gone(small, job):
    token = open_feed(small.correction, small.owner, NOW)
    booking_cancel(job=job, member=small.desk, now=NOW, why="Sold the car")
    assert read(token, NOW) == []


def test_a_no_show_that_is_booked_again_goes_on_counting(small, job):
    token = open_feed(small.crew, small.tech, NOW)
    uid = only(token, NOW)["uid"]
    missed = job.arrives_at + 2 * DAY
    job_no_show(job=job, member=small.desk, now=missed)
    assert only(token, missed)["status"] == "CANCELLED"
    booking_make(job=job, member=small.desk, now=missed, earliest=missed + DAY)
    back = only(token, missed + HOUR)
    assert (back["uid"], back["sequence"], back["status"]) == (uid, 2, "CONFIRMED")


def test_other_words_are_a_modification_and_no_revision(small, job):
    token = open_feed(small.correction, small.owner, NOW)
    first = only(token, NOW)
    job.vehicle.plate = "NEW 123"
    job.vehicle.save()
    again = only(token, NOW + HOUR)
    assert again["summary"].endswith("NEW 123")
    assert (again["sequence"], again["modified"]) == (0, NOW + HOUR)
    assert again["uid"] == first["uid"]


def test_the_past_leaves_after_thirty_days_without_being_cancelled(small, job):
    token = open_feed(small.correction, small.owner, NOW)
    end = only(token, NOW)["end"]
    assert only(token, end + 30 * DAY - HOUR)["status"] == "CONFIRMED"
    assert read(token, end + 30 * DAY) == []
    assert not FeedEntry.objects.filter(cancelled=True).exists()


def test_a_new_address_keeps_what_was_said(small, job):
    first = only(open_feed(small.correction, small.owner, NOW), NOW)
    booking_cancel(job=job, member=small.desk, now=NOW, why="Sold the car")
    after = only(open_feed(small.correction, small.owner, NOW), NOW)
    assert (after["uid"], after["status"]) == (first["uid"], "CANCELLED")


def test_more_than_a_feed_can_hold_is_left_out_not_cancelled(small, job, monkeypatch):
    second = quoted_job(small, correction(120))
    booking_make(job=second, member=small.desk, now=NOW, earliest=NOW + 2 * DAY)
    token = open_feed(small.correction, small.owner, NOW)
    assert [one["status"] for one in read(token, NOW)] == ["CONFIRMED"] * 2
    monkeypatch.setattr("scheduling.feeds.contents.MOST", 1)
    assert only(token, NOW)["start"] == job.arrives_at
    monkeypatch.undo()
    assert [one["sequence"] for one in read(token, NOW)] == [0, 0]
