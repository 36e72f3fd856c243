"""Starting, pausing and finishing work."""

from datetime import timedelta

import pytest

from shop.models import Attendance, Job, WorkEntry
from shop.refusals import Conflict, Refused
from shop.services.work import operation_finish, operation_pause, operation_start
from tests import factories as make
from tests.factories import NOW

pytestmark = pytest.mark.django_db

LATER = NOW + timedelta(hours=1)


@pytest.fixture
def job():
    return make.JobFactory(booked=True, state="on_site")


@pytest.fixture
def person(job):
    return make.TechnicianFactory(shop=job.shop)


@pytest.fixture
def polish(job):
    return make.OperationFactory(job=job, sequence=1)


def test_started_paused_resumed_finished(polish, person):
    operation_start(operation=polish, member=person, now=NOW)
    operation_pause(operation=polish, member=person, now=LATER)
    operation_start(operation=polish, member=person, now=LATER + timedelta(hours=1))
    done = operation_finish(operation=polish, member=person, now=LATER + timedelta(hours=3))
    entries = WorkEntry.objects.values_list("started_at", "ended_at")
    spans = [ended - started for started, ended in entries if ended]
    assert spans == [timedelta(hours=1), timedelta(hours=2)]
    assert (done.state, done.started_at) == ("done", NOW)
    assert done.finished_at == LATER + timedelta(hours=3)


def test_the_first_start_puts_the_job_in_work(polish, person, job):
    operation_start(operation=polish, member=person, now=NOW)
    assert Job.objects.get(pk=job.pk).state == "in_work"


def test_a_second_person_joins_and_one_finish_closes_both(polish, person, job):
    operation_start(operation=polish, member=person, now=NOW)
    operation_start(operation=polish, member=make.TechnicianFactory(shop=job.shop), now=NOW)
    operation_finish(operation=polish, member=person, now=LATER)
    assert [entry.ended_at for entry in WorkEntry.objects.all()] == [LATER, LATER]


def test_one_person_works_on_one_thing(polish, person):
    operation_start(operation=polish, member=person, now=NOW)
    other = make.OperationFactory(
        job=make.JobFactory(booked=True, state="on_site", shop=polish.job.shop)
    )
    with pytest.raises(Conflict, match="pause or finish that first"):
        operation_start(operation=other, member=person, now=LATER)
    assert WorkEntry.objects.count() == 1


def test_what_comes_first_is_done_first(polish, person, job):
    coat = make.OperationFactory(job=job, sequence=2, name="Coat")
    with pytest.raises(Refused, match="comes first"):
        operation_start(operation=coat, member=person, now=NOW)


@pytest.mark.parametrize("state", ["quoted", "booked", "ready", "handed_over", "cancelled"])
def test_no_work_without_the_vehicle(polish, person, job, state):
    Job.objects.filter(pk=job.pk).update(state=state)
    with pytest.raises(Refused, match="check the vehicle in"):
        operation_start(operation=polish, member=person, now=NOW)
    assert not WorkEntry.objects.exists()


def test_work_that_may_not_pause_does_not(job, person):
    coat = make.OperationFactory(job=job, attendance=Attendance.THROUGH)
    operation_start(operation=coat, member=person, now=NOW)
    with pytest.raises(Refused, match="may not pause"):
        operation_pause(operation=coat, member=person, now=LATER)


def test_only_what_was_started_is_paused_or_finished_and_only_once(polish, person):
    for act in (operation_pause, operation_finish):
        with pytest.raises(Refused):
            act(operation=polish, member=person, now=NOW)
    operation_start(operation=polish, member=person, now=NOW)
    operation_finish(operation=polish, member=person, now=LATER)
    for act in (operation_start, operation_pause, operation_finish):
        with pytest.raises(Refused):
            act(operation=polish, member=person, now=LATER)


def test_an_unattended_operation_has_no_worker(job, person):
    cure = make.OperationFactory(job=job, attendance=Attendance.UNATTENDED, crew_count=0, skill="")
    assert operation_start(operation=cure, member=person, now=NOW).state == "running"
    assert not WorkEntry.objects.exists()
