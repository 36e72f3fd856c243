"""Each read takes the same few queries, however much there is to read."""

import pytest

from scheduling.selectors import calendar_week, floor_today, job_story, reminders_list
from shop.models import Job
from tests.factories import NOW, TODAY, JobEventFactory, ReminderFactory, WorkEntryFactory
from tests.scheduling.selectors.busy import busy_shop

pytestmark = pytest.mark.django_db
SIZES = pytest.mark.parametrize("count", [1, 7])


@SIZES
def test_calendar(count, django_assert_num_queries):
    small, jobs = busy_shop(count)
    with django_assert_num_queries(7):
        week = calendar_week(small.shop, TODAY, 14)
        drawn = {r.vehicle + r.customer + r.number for row in week.bays for r in row.ribbons}
        names = [work.name for row in week.bays for r in row.ribbons for work in r.work]
        load = [taken.operation for row in week.crew for taken in row.taken]
    assert len(drawn) == len(jobs)
    assert len(names) == 4 * count
    assert len(load) >= 3 * count


@SIZES
def test_floor(count, django_assert_num_queries):
    small, _jobs = busy_shop(count)
    with django_assert_num_queries(7):
        floor = floor_today(small.shop, NOW)
        vehicles = [
            card.standing.job.vehicle.description + card.standing.job.customer.name
            for card in (*floor.bays, *floor.parking)
            if card.standing is not None
        ]
        working = [
            card.working.operation.name + card.working.operation.job.vehicle.description
            for card in floor.crew
            if card.working is not None
        ]
        expected = [card.expected.job.vehicle.description for card in floor.bays if card.expected]
        ahead = [
            card.next.operation.name for card in floor.crew if card.next and card.next.operation
        ]
    assert (len(vehicles), len(working)) == (1, 1)
    assert expected or count == 1
    assert ahead


@SIZES
def test_story(count, django_assert_num_queries):
    _small, jobs = busy_shop(1)
    for _ in range(count):
        JobEventFactory(job=jobs[0])
        ReminderFactory(shop=jobs[0].shop, job=jobs[0])
        WorkEntryFactory(operation=jobs[0].operations.get(sequence=2))
    job = Job.objects.select_related("quote", "cure").get(pk=jobs[0].pk)
    with django_assert_num_queries(7):
        story = job_story(job)
        assert (story.quote, story.cure) == (None, None)
        names = [event.member.name for event in story.events if event.member]
        workers = [entry.member.name for row in story.operations for entry in row.work.all()]
        places = [hold.resource.name for hold in story.holds]
    assert names
    assert places
    assert len(workers) == 1 + count


@SIZES
def test_reminders(count, django_assert_num_queries):
    small, jobs = busy_shop(1)
    for _ in range(count):
        ReminderFactory(shop=small.shop, job=jobs[0])
    with django_assert_num_queries(1):
        rows = reminders_list(small.shop)
        said = [row.customer.name + row.job.vehicle.description for row in rows]
    assert len(said) == count
