"""Two desks book one slot in the same moment: one has it, the other is told."""

from __future__ import annotations

import threading

import pytest
from django.db import connection, transaction

from scheduling.models import Hold
from scheduling.services.bookings import SlotTaken, booking_make
from scheduling.services.offers import Offer, offers_find
from shop.models import Job, JobState
from tests.factories import NOW
from tests.scheduling.shops import Small, quoted_job, small_shop

pytestmark = [pytest.mark.postgres, pytest.mark.django_db(transaction=True)]


def offer_of(small: Small, job: Job) -> Offer:
    operations = list(job.operations.all())
    return offers_find(shop=small.shop, operations=operations, earliest=NOW, now=NOW).found[0]


def race(small: Small, jobs: list[Job], offer: Offer) -> list[str]:
    """Book every job at the same offer from threads that start together."""
    barrier = threading.Barrier(len(jobs))
    outcomes: list[str] = []

    def book(job: Job) -> None:
        try:
            barrier.wait(timeout=20)
            booking_make(job=job, member=small.desk, now=NOW, offer=offer)
            outcomes.append("booked")
        except SlotTaken as taken:
            outcomes.append(str(taken))
        except Exception as error:  # noqa: BLE001 -- a deadlock or the like must fail the test
            outcomes.append(f"unexpected {error!r}")
        finally:
            connection.close()

    threads = [threading.Thread(target=book, args=(job,)) for job in jobs]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return sorted(outcomes)


def test_one_of_six_gets_it_and_five_are_told_who_has_it():
    small = small_shop()
    jobs = [quoted_job(small) for _ in range(6)]
    outcomes = race(small, jobs, offer_of(small, jobs[0]))
    assert [one for one in outcomes if one == "booked"] == ["booked"]
    losers = [one for one in outcomes if one != "booked"]
    assert len(losers) == 5
    assert all("Correction bay is kept for" in one for one in losers), losers
    assert Job.objects.filter(state=JobState.BOOKED).count() == 1
    assert Hold.objects.filter(resource=small.correction).count() == 1


def test_the_second_waits_for_the_first_which_has_not_committed():
    small = small_shop()
    first, second = quoted_job(small), quoted_job(small)
    offer = offer_of(small, first)
    outcomes: list[str] = []

    def book_second() -> None:
        try:
            booking_make(job=second, member=small.desk, now=NOW, offer=offer)
            outcomes.append("booked")
        except SlotTaken:
            outcomes.append("taken")
        finally:
            connection.close()

    thread = threading.Thread(target=book_second)
    with transaction.atomic():
        booking_make(job=first, member=small.desk, now=NOW, offer=offer)
        thread.start()
        thread.join(timeout=0.7)
        assert outcomes == []
    thread.join(timeout=20)
    assert outcomes == ["taken"]
