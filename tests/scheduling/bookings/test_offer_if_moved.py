"""What one booking's move would bring: told, never done by itself, and booked only with consent."""

from datetime import timedelta

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from scheduling.models import Hold, Reminder, ReminderState
from scheduling.services.bookings import booking_make, booking_move
from scheduling.services.bookings_moved import booking_make_with_move
from scheduling.services.calendar_kept import calendar_forget
from scheduling.services.offers_moved import offer_if_moved
from shop.models import JobEvent, JobState
from shop.refusals import Conflict, Refused
from tests.factories import NOW
from tests.scheduling.shops import correction, quoted_job, small_shop

pytestmark = pytest.mark.django_db
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
CONSENT = "Ms Venn herself, on the phone"


def sure(minutes):
    """Work without spread and not to be interrupted, so that times can be counted on paper."""
    exact = float(minutes)
    changes = {"minutes_p10": exact, "minutes_p50": exact, "minutes_p90": exact}
    return correction(minutes, attendance="through", **changes)


@pytest.fixture
def small():
    return small_shop()


@pytest.fixture
def asked(small):
    """Monday 09:00; a short booking in the middle of Tuesday keeps eight hours off until Wednesday.

    The job is asked for from Tuesday 08:00 on.
    """
    there = quoted_job(small, sure(60))
    booking_make(job=there, member=small.desk, now=NOW, earliest=NOW + DAY + 2 * HOUR)
    return quoted_job(small, sure(480)), there


def ask(small, job, now=NOW, earliest=NOW + DAY - HOUR):
    rows = list(job.operations.order_by("sequence"))
    return offer_if_moved(shop=small.shop, operations=rows, earliest=earliest, now=now)


def book(small, job, found, **changes):
    given = {"earliest": NOW + DAY - HOUR, "asked_at": NOW, "key": found.key, "consent": CONSENT}
    return booking_make_with_move(
        job=job, member=small.desk, **{"now": NOW + HOUR, **given, **changes}
    )


def test_it_says_whose_booking_from_when_to_when_and_what_is_gained(small, asked):
    job, there = asked
    there.refresh_from_db()
    found = ask(small, job)
    assert found.job == there
    assert found.offer.arrives_at == NOW + DAY - HOUR
    assert found.offer.promised_at == NOW + DAY + 7 * HOUR
    assert found.plain_promised_at == NOW + 2 * DAY + 7 * HOUR
    assert found.gain_hours == 24
    # An hour is left of Tuesday, from 16:00 on; five hours later than what was told.
    assert found.moved.arrives_at == NOW + DAY + 7 * HOUR
    assert not found.promise_holds


def test_asking_writes_nothing_and_reads_little(small, asked):
    for _ in range(4):  # more bookings are no more queries
        booking_make(
            job=quoted_job(small, sure(60)), member=small.desk, now=NOW, earliest=NOW + DAY
        )
    with CaptureQueriesContext(connection) as done:
        ask(small, asked[0])
    words = {one["sql"].split(maxsplit=1)[0].upper() for one in done.captured_queries}
    assert not {"INSERT", "UPDATE", "DELETE"} & words
    assert len(done.captured_queries) <= 12


@pytest.mark.django_db(transaction=True)
def test_the_same_from_the_kept_calendar(small, asked):
    calendar_forget(small.shop)
    kept = ask(small, asked[0])
    with CaptureQueriesContext(connection) as done:
        assert ask(small, asked[0]).key == kept.key
    assert len(done.captured_queries) <= 6
    with transaction.atomic():
        assert ask(small, asked[0]).key == kept.key


def test_who_comes_within_a_day_is_not_asked(small, asked):
    job, there = asked
    later = there.arrives_at - DAY + timedelta(minutes=5)
    assert ask(small, job, now=later) is None
    assert ask(small, job, now=later - timedelta(minutes=10)) is not None


def test_a_gain_of_less_than_four_hours_is_not_worth_it(small):
    there = quoted_job(small, sure(60))
    booking_make(job=there, member=small.desk, now=NOW, earliest=NOW + DAY)
    # Two hours from 10:00 on instead of 09:00.
    assert ask(small, quoted_job(small, sure(120))) is None


def test_a_booking_with_consent_moves_one_and_makes_the_other(small, asked):
    job, there = asked
    found = ask(small, job)
    book(small, job, found)
    there.refresh_from_db()
    assert (job.state, job.arrives_at) == (JobState.BOOKED, found.offer.arrives_at)
    assert (there.arrives_at, there.promised_at) == (
        found.moved.arrives_at,
        found.moved.promised_at,
    )
    event = there.events.get(kind="moved")
    assert event.why == f"Moved with consent, asked by {small.desk.name}: {CONSENT}"
    states = set(Reminder.objects.filter(job=there).values_list("state", flat=True))
    assert {ReminderState.DUE, ReminderState.WITHDRAWN} <= states
    assert Hold.objects.filter(job=job).exists()


@pytest.mark.parametrize("consent", ["", "   ", "yes"])
def test_without_who_and_how_nothing_happens(small, asked, consent):
    job, _there = asked
    found = ask(small, job)
    with pytest.raises(Refused, match="who agreed") as refused:
        book(small, job, found, consent=consent)
    assert "consent" in refused.value.by_field()
    assert not Hold.objects.filter(job=job).exists()


def test_anything_changed_is_refused_and_nothing_is_written(small, asked):
    job, there = asked
    found = ask(small, job)
    booking_move(job=there, member=small.desk, now=NOW, earliest=NOW + 2 * DAY)
    before = (Hold.objects.count(), JobEvent.objects.count())
    with pytest.raises(Conflict, match="nothing was moved or booked"):
        book(small, job, found)
    job.refresh_from_db()
    assert job.state == JobState.QUOTED
    assert (Hold.objects.count(), JobEvent.objects.count()) == before


def test_an_old_answer_or_one_of_tomorrow_is_looked_at_anew(small, asked):
    job, _there = asked
    found = ask(small, job)
    for now in (NOW + 5 * HOUR, NOW - HOUR):
        with pytest.raises(Conflict, match="anew"):
            book(small, job, found, now=now)
