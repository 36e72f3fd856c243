"""An open calendar is told cheaply that nothing changed, and gets what did."""

from datetime import timedelta

import pytest
from django.urls import reverse

from scheduling.services.bookings import booking_move
from scheduling.services.floor import work_finish, work_start
from tests import factories as make
from tests.factories import NOW
from tests.scheduling_web.test_pages_read_little import at_most

LIVE = reverse("calendar_live")


def stamp_of(answer) -> str:
    return answer.content.decode().split('data-stamp="')[1].split('"')[0]


def test_where_nothing_changed_nothing_is_sent(world, desk) -> None:
    world.booked()
    seen = stamp_of(desk.get(reverse("calendar")))
    with at_most(4):
        answer = desk.get(LIVE, {"seen": seen})
    assert (answer.status_code, answer.content) == (204, b"")


def change_move(world, job):
    booking_move(job=job, member=world.small.owner, now=NOW, earliest=NOW + timedelta(days=1))


def change_work(world, job):
    work_start(operation=job.operations.first(), member=world.small.tech, now=NOW)


def change_finish(world, job):
    work_finish(operation=job.operations.first(), member=world.small.tech, now=NOW)


def change_absence(world, _job):
    make.AbsenceFactory(resource=world.small.lamp, start=NOW, end=NOW + timedelta(days=1))


def change_climate(world, _job):
    make.ClimateReadingFactory(resource=world.small.coating, at=NOW)


def change_clock(world, _job):
    world.clock.shift(121)


@pytest.mark.parametrize(
    "change",
    [change_move, change_work, change_finish, change_absence, change_climate, change_clock],
)
def test_every_change_is_noticed(world, desk, change) -> None:
    job = world.booked()
    if change is not change_move:
        world.here(job)
    if change is change_finish:
        change_work(world, job)
    seen = stamp_of(desk.get(reverse("calendar")))
    change(world, job)
    answer = desk.get(LIVE, {"seen": seen})
    assert answer.status_code == 200
    assert stamp_of(answer) != seen
    assert b'id="cal-draw"' in answer.content


def test_another_shops_changes_wake_nobody(world, desk) -> None:
    seen = stamp_of(desk.get(reverse("calendar")))
    make.AbsenceFactory(resource=make.BayFactory())
    assert desk.get(LIVE, {"seen": seen}).status_code == 204


def test_whoever_may_not_move_gets_nothing_to_drag(world, tech, desk, text) -> None:
    job = world.booked()
    for seen in (text(tech.get(LIVE)), text(tech.get(reverse("calendar")))):
        assert job.number in seen
        assert "data-job" not in seen
        assert "cal-ask" not in seen
    assert f'data-job="{job.pk}"' in text(desk.get(LIVE))
