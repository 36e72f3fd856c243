"""The calendar shows stays with the work inside them, loads, openings and closures."""

from datetime import UTC, date, datetime, timedelta

import pytest

from scheduling.selectors import calendar_week
from scheduling.services.bookings import booking_make
from tests.factories import NOW, TODAY, AbsenceFactory, ClosureFactory, HoldFactory
from tests.scheduling.shops import coat, correction, cure, quoted_job, small_shop, wash

pytestmark = pytest.mark.django_db


def booked():
    small = small_shop()
    job = quoted_job(small, wash(), correction(300), coat(), cure(720))
    booking_make(job=job, member=small.desk, now=NOW)
    return small, job


def test_a_vehicle_is_drawn_where_it_stands_with_the_work_done_there():
    small, job = booked()
    week = calendar_week(small.shop, TODAY)
    rows = {row.resource.name: row for row in week.bays}
    assert [row.resource for row in week.bays] == [small.wash, small.correction, small.coating]
    (ribbon,) = rows["Coating bay"].ribbons
    assert (ribbon.number, ribbon.state, ribbon.late) == (job.number, "booked", False)
    assert [work.kind for work in ribbon.work] == ["coating", "cure"]
    # The night belongs to the stay: from the coat until the shop opens.
    assert ribbon.start == ribbon.work[0].start
    assert ribbon.end.astimezone(small.shop.tz).hour == 8
    assert [(p.start, p.end) for p in ribbon.work[0].pieces] == [
        (ribbon.work[0].start, ribbon.work[0].end)
    ]
    assert ribbon.work[1].pieces == ()


def test_people_have_their_shifts_and_what_takes_them():
    small, job = booked()
    away = datetime(2026, 3, 4, 16, 0, tzinfo=UTC)
    AbsenceFactory(resource=small.crew, start=away, end=away + timedelta(hours=2))
    (row,) = calendar_week(small.shop, TODAY).crew
    assert [taken.number for taken in row.taken] == [job.number] * 3
    # Five shifts, one of them in two because of the absence.
    assert len(row.there) == 6
    assert len(row.away) == 1


def test_closed_days_have_a_reason_and_no_opening():
    small = small_shop()
    ClosureFactory(
        shop=small.shop, first_day=date(2026, 3, 4), last_day=date(2026, 3, 5), reason="Fair"
    )
    week = calendar_week(small.shop, TODAY)
    assert [(one.day.day, one.reason) for one in week.closures] == [(4, "Fair"), (5, "Fair")]
    assert [span.start.astimezone(small.shop.tz).day for span in week.opening] == [2, 3, 6]


def test_a_week_with_a_clock_change_has_an_hour_less():
    small = small_shop()
    week = calendar_week(small.shop, date(2026, 3, 8), 1)
    assert week.end - week.start == timedelta(hours=23)


def test_only_this_shop_and_only_these_days():
    small = small_shop()
    HoldFactory(start=NOW, end=NOW + timedelta(hours=1))
    HoldFactory(
        shop=small.shop,
        resource=small.wash,
        start=NOW + timedelta(days=8),
        end=NOW + timedelta(days=8, hours=1),
    )
    assert not [r for row in calendar_week(small.shop, TODAY).bays for r in row.ribbons]
