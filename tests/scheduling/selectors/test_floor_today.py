"""The floor says what stands where, who works on what since when, and what comes next."""

from datetime import timedelta

import pytest

from scheduling.models import Hold
from scheduling.selectors import floor_today
from scheduling.services.floor import work_finish, work_start
from tests.factories import NOW
from tests.scheduling.selectors.busy import busy_shop

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)


def test_the_bay_has_the_vehicle_the_work_and_the_person():
    small, jobs = busy_shop(3)
    floor = floor_today(small.shop, NOW + 5 * MINUTE)
    wash = floor.bays[0]
    assert wash.resource == small.wash
    assert wash.standing is not None
    assert wash.standing.job == jobs[0]
    assert [row.name for row in wash.standing.running] == ["Prep wash"]
    assert [(one.member, one.since) for one in wash.standing.at_work] == [(small.tech, NOW)]
    assert wash.standing.next is not None
    assert wash.standing.next.name == "Machine correction"
    assert wash.expected is not None
    assert wash.expected.job == jobs[1]


def test_the_person_has_now_and_next():
    small, jobs = busy_shop(2)
    (card,) = floor_today(small.shop, NOW + 5 * MINUTE).crew
    assert card.working is not None
    assert card.working.operation.job == jobs[0]
    assert card.now is not None
    assert card.now.operation == jobs[0].operations.get(sequence=1)
    assert card.next is not None
    assert card.next.start > NOW + 5 * MINUTE


def test_the_climate_is_the_last_reading_with_its_verdict():
    small, _jobs = busy_shop(3)
    coating = floor_today(small.shop, NOW + 5 * MINUTE).bays[2]
    assert coating.climate is not None
    assert coating.climate.reading.air_c == 20.0
    assert coating.climate.verdict.allowed
    assert not coating.climate.stale
    later = floor_today(small.shop, NOW + timedelta(hours=7)).bays[2].climate
    assert later is not None
    assert later.stale


def test_a_running_cure_has_a_clock():
    small, jobs = busy_shop(1)
    at = NOW
    for operation in jobs[0].operations.order_by("sequence")[:3]:
        if operation.sequence > 1:
            work_start(operation=operation, member=small.tech, now=at)
        at += 30 * MINUTE
        work_finish(operation=operation, member=small.tech, now=at)
    floor = floor_today(small.shop, at + timedelta(hours=2))
    here = [card.standing for card in floor.bays if card.standing] or list(floor.elsewhere)
    clock = here[0].cure
    assert clock is not None
    # Two of four hours at the temperature that is assumed.
    assert clock.share == pytest.approx(0.5)
    assert not clock.done


def test_arrivals_are_expected_today_and_a_vehicle_without_a_place_is_not_lost():
    small, jobs = busy_shop(2)
    floor = floor_today(small.shop, NOW)
    assert floor.arrivals == (jobs[1],)
    Hold.objects.filter(job=jobs[0]).delete()
    floor = floor_today(small.shop, NOW)
    assert [one.job for one in floor.elsewhere] == [jobs[0]]
