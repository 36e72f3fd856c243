"""One offer worked out by hand."""

from datetime import UTC, datetime, timedelta

import pytest

from scheduling.services.offers import offers_find
from tests.factories import NOW, HoldFactory
from tests.scheduling.shops import coat, correction, cure, quoted_job, small_shop, wash

pytestmark = pytest.mark.django_db


def at(day: int, hour: int, minute: int = 0) -> datetime:
    """A moment in March 2026 on Chicago's winter clock."""
    return datetime(2026, 3, day, hour + 6, minute, tzinfo=UTC)


def find(small, job, earliest=NOW, **more):
    operations = list(job.operations.order_by("sequence"))
    return offers_find(shop=small.shop, operations=operations, earliest=earliest, now=NOW, **more)


def test_wash_correction_coat_and_a_cure_through_the_night():
    # Monday 09:00: wash 30, correction 300, coat 60 end at 15:30; twelve hours of cure end at
    # 03:30, and the shop opens at 08:00 on Tuesday.
    small = small_shop()
    job = quoted_job(small, wash(30), correction(300), coat(60), cure(720))
    offer = find(small, job).found[0]
    assert offer.arrives_at == at(2, 9)
    assert [(step.start, step.end) for step in offer.steps] == [
        (at(2, 9), at(2, 9, 30)),
        (at(2, 9, 30), at(2, 14, 30)),
        (at(2, 14, 30), at(2, 15, 30)),
        (at(2, 15, 30), at(3, 3, 30)),
    ]
    assert [step.bay for step in offer.steps] == [
        small.wash.name, small.correction.name, small.coating.name, small.coating.name
    ]  # fmt: skip
    assert offer.ready_at == at(3, 3, 30)
    assert offer.pick_up_at == at(3, 8)


def test_the_bay_is_one_hold_and_the_night_holds_nobody():
    small = small_shop()
    # Six hours from 14:00: three today, three tomorrow.
    job = quoted_job(small, correction(360))
    offer = find(small, job, earliest=at(2, 14)).found[0]
    bays = [(held.start, held.end) for held in offer.holds if held.resource == small.correction]
    people = [(held.start, held.end) for held in offer.holds if held.resource == small.crew]
    assert bays[0][0] == at(2, 14)
    assert bays[-1][1] >= at(3, 11)
    assert len(bays) == 1
    assert people == [(at(2, 14), at(2, 17)), (at(3, 8), at(3, 11))]


def test_what_is_booked_is_in_the_way_and_nothing_else_moves():
    small = small_shop()
    HoldFactory(shop=small.shop, resource=small.correction, start=at(2, 8), end=at(3, 12))
    offer = find(small, quoted_job(small, correction(120))).found[0]
    assert offer.steps[0].start == at(3, 12)


def test_nothing_is_offered_in_the_past():
    small = small_shop()
    offer = find(small, quoted_job(small), earliest=NOW - timedelta(days=3)).found[0]
    assert offer.arrives_at >= NOW
