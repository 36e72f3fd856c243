"""A kept calendar answers like the rows, whatever changed them, and whoever did."""

import threading
from datetime import time, timedelta

import pytest
from django.db import connection, transaction

from scheduling.models import Absence, CalendarChange, Hold, KeptSlot, Resource
from scheduling.services import calendar_kept as kept_module
from scheduling.services.calendar_kept import calendar_kept, notes_prune
from scheduling.services.horizon import Horizon, horizon_load
from scheduling.services.kept import slot_keep
from scheduling.services.offers import offers_find
from shop.models import Closure, OpeningHours
from tests.factories import NOW, HoldFactory, ShiftFactory
from tests.scheduling.shops import quoted_job, small_shop

pytestmark = pytest.mark.django_db(transaction=True)
HOUR = timedelta(hours=1)


@pytest.fixture
def small():
    kept_module._kept.clear()
    return small_shop()


def hold(small, at=NOW, hours=2):
    return HoldFactory(shop=small.shop, resource=small.wash, start=at, end=at + hours * HOUR)


def free_of(horizon: Horizon | None) -> list[tuple[str, int]]:
    """What is free, and what is worked, in the week of NOW."""
    assert horizon is not None
    index = horizon.index
    first = horizon.minute(NOW) // index.grid // index.block_slots
    free = [(one, index.free(one, first, first + 1)) for one in horizon.resources.by_id]
    worked = ((one, index.worked(k, first, first + 1)) for one, k in index.calendar_of.items())
    return sorted([*free, *worked])


def read_anew(small) -> list[tuple[str, int]]:
    """The same from the rows alone."""
    kept = calendar_kept(shop=small.shop, now=NOW, start=NOW)
    days = kept.resources.horizon // (24 * 60)
    return free_of(horizon_load(shop=small.shop, start=kept.origin, days=days))


def add(small):
    hold(small, NOW + 3 * HOUR, hours=5)


def move(small):
    Hold.objects.update(start=NOW + 5 * HOUR, end=NOW + 6 * HOUR)


def end_off_the_grid(small):
    Hold.objects.update(end=NOW + timedelta(minutes=61, seconds=7))


def remove(small):
    Hold.objects.all().delete()


def absent(small):
    Absence.objects.create(resource=small.wash, start=NOW, end=NOW + 4 * HOUR)


def close(small):
    day = NOW.astimezone(small.shop.tz).date()
    Closure.objects.create(shop=small.shop, first_day=day, last_day=day, reason="stock-taking")


def open_longer(small):
    OpeningHours.objects.filter(shop=small.shop).update(closes=time(21))


def work_longer(small):
    person = Resource.objects.of(small.shop).filter(kind="technician").first()
    ShiftFactory(resource=person, weekday=NOW.weekday(), starts=time(20), ends=time(21))


def retire(small):
    Resource.objects.filter(pk=small.wash.pk).update(active=False)


CHANGES = (add, move, end_off_the_grid, remove, absent, close, open_longer, work_longer, retire)


@pytest.mark.parametrize("change", CHANGES)
def test_every_change_is_seen(small, change):
    hold(small)
    before = free_of(calendar_kept(shop=small.shop, now=NOW, start=NOW))
    change(small)
    after = free_of(calendar_kept(shop=small.shop, now=NOW, start=NOW))
    assert after != before
    assert after == read_anew(small)


def test_one_query_where_nothing_changed(small, django_assert_num_queries):
    hold(small)
    calendar_kept(shop=small.shop, now=NOW, start=NOW)
    with django_assert_num_queries(1):
        calendar_kept(shop=small.shop, now=NOW, start=NOW + 30 * HOUR)


def test_a_booking_is_read_without_reading_all(small, django_assert_num_queries):
    hold(small)
    calendar_kept(shop=small.shop, now=NOW, start=NOW)
    hold(small, NOW + 8 * HOUR)
    with django_assert_num_queries(2):
        calendar_kept(shop=small.shop, now=NOW, start=NOW)


def test_a_transaction_sees_its_own_and_leaves_nothing_when_undone(small):
    before = free_of(calendar_kept(shop=small.shop, now=NOW, start=NOW))
    with transaction.atomic():
        hold(small)
        assert calendar_kept(shop=small.shop, now=NOW, start=NOW) is None
        transaction.set_rollback(True)
    assert free_of(calendar_kept(shop=small.shop, now=NOW, start=NOW)) == before == read_anew(small)


def test_without_the_holds_of_one_job_the_kept_one_stays(small):
    mine = hold(small)
    hold(small, NOW + 2 * HOUR)
    kept = free_of(calendar_kept(shop=small.shop, now=NOW, start=NOW))
    without = calendar_kept(shop=small.shop, now=NOW, start=NOW, ignoring=mine.job)
    minute = without.minute(NOW)
    key = f"r{small.wash.pk}"
    assert without.index.is_free(key, minute, minute + 120)
    assert not without.index.is_free(key, minute, minute + 125)
    assert free_of(calendar_kept(shop=small.shop, now=NOW, start=NOW)) == kept


def test_old_notes_go_but_the_newest_stays(small):
    hold(small)
    hold(small, NOW + 8 * HOUR)
    newest = CalendarChange.objects.latest("pk")
    notes_prune(now=newest.at + timedelta(days=3))
    assert list(CalendarChange.objects.filter(shop=small.shop)) == [newest]
    before = free_of(calendar_kept(shop=small.shop, now=NOW, start=NOW))
    hold(small, NOW + 12 * HOUR)
    assert free_of(calendar_kept(shop=small.shop, now=NOW, start=NOW)) == read_anew(small) != before


@pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite has one writer at a time")
def test_a_change_committed_late_is_seen_after_a_later_one(small):
    written, go_on = threading.Event(), threading.Event()

    def slow_desk():
        with transaction.atomic():
            hold(small)
            written.set()
            go_on.wait(timeout=20)
        connection.close()

    hold(small, NOW + 20 * HOUR)
    calendar_kept(shop=small.shop, now=NOW, start=NOW)
    desk = threading.Thread(target=slow_desk)
    desk.start()
    written.wait(timeout=20)
    hold(small, NOW + 8 * HOUR)
    before = free_of(calendar_kept(shop=small.shop, now=NOW, start=NOW))
    go_on.set()
    desk.join(timeout=20)
    assert free_of(calendar_kept(shop=small.shop, now=NOW, start=NOW)) == read_anew(small) != before


def test_what_a_caller_keeps_is_taken_until_its_time_has_passed(small):
    job = quoted_job(small)
    rows = list(job.operations.all())
    asked = {"shop": small.shop, "operations": rows, "earliest": NOW + 24 * HOUR}
    offer = offers_find(**asked, now=NOW).found[0]
    slot = slot_keep(shop=small.shop, member=small.desk, operations=rows, offer=offer, now=NOW)
    a_second = timedelta(seconds=1)
    assert offers_find(**asked, now=slot.kept_until - a_second).found[0] != offer
    assert KeptSlot.objects.exists()
    assert offers_find(**asked, now=slot.kept_until).found[0] == offer
    assert not KeptSlot.objects.exists()
