"""A job moves along the allowed moves, each an event; the second of two is told."""

import pytest

from shop.models import Job, JobEvent, JobState
from shop.models.jobs import ALLOWED_MOVES
from shop.refusals import Conflict, Refused
from shop.services.job_state import job_move, job_note
from tests import factories as make
from tests.factories import NOW

pytestmark = pytest.mark.django_db


def job_in(state):
    return make.JobFactory(booked=True, state=state)


@pytest.mark.parametrize("before", JobState.values)
def test_every_allowed_move_and_no_other(before):
    for after in JobState.values:
        job = job_in(before)
        if after in ALLOWED_MOVES[before]:
            job_move(job=job, to=after, now=NOW, member=None)
            assert Job.objects.get(pk=job.pk).state == after
        else:
            with pytest.raises(Refused):
                job_move(job=job, to=after, now=NOW, member=None)
            assert Job.objects.get(pk=job.pk).state == before
            assert not job.events.exists()


def test_who_when_and_why_is_kept():
    job, member = job_in(JobState.BOOKED), make.MemberFactory()
    job_move(job=job, to=JobState.ON_SITE, now=NOW, member=member, why="came early")
    event = JobEvent.objects.get()
    assert (event.from_state, event.to_state) == ("booked", "on_site")
    assert (event.at, event.member, event.why) == (NOW, member, "came early")
    assert Job.objects.get().arrived_at == NOW


def test_the_second_of_two_at_once_is_told():
    job = job_in(JobState.BOOKED)
    stale = Job.objects.get(pk=job.pk)
    job_move(job=job, to=JobState.CANCELLED, now=NOW, member=None)
    with pytest.raises(Conflict):
        job_move(job=stale, to=JobState.ON_SITE, now=NOW, member=None)
    assert JobEvent.objects.count() == 1


def test_a_note_leaves_the_state_alone():
    job = job_in(JobState.BOOKED)
    job_note(job=job, kind="call", now=NOW, member=None, why="will be late")
    assert Job.objects.get().state == JobState.BOOKED
    assert JobEvent.objects.get().to_state == ""


def test_every_state_can_be_left_except_the_last_ones():
    ends = {state for state, moves in ALLOWED_MOVES.items() if not moves}
    assert ends == {JobState.CLOSED, JobState.CANCELLED}
    assert set(ALLOWED_MOVES) == set(JobState.values)
