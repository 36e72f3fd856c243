"""No vehicle leaves before its cure allows it, unless an owner says why."""

from datetime import timedelta

import pytest

from scheduling.services.floor import job_hand_over
from shop.models import JobState, OperationState
from shop.refusals import Forbidden, Refused
from tests.factories import NOW, CureFactory, JobFactory
from tests.scheduling.shops import small_shop

pytestmark = pytest.mark.django_db
HALF = NOW + timedelta(hours=6)


def curing():
    small = small_shop()
    job = JobFactory(shop=small.shop, booked=True, state=JobState.CURING)
    cure = CureFactory(job=job, operation__state=OperationState.RUNNING, operation__started_at=NOW)
    return small, job, cure


def test_the_desk_is_told_how_far_it_is_and_until_when():
    small, job, _cure = curing()
    with pytest.raises(Forbidden) as refused:
        job_hand_over(job=job, member=small.desk, now=HALF, reason="The customer waits")
    # Half of twelve hours at the reference temperature; 09:00 and twelve hours is 21:00.
    assert "still curing (50 %), forecast until Mon 2 Mar 21:00" in str(refused.value)
    assert job.state == JobState.CURING


def test_an_owner_needs_a_reason():
    small, job, _cure = curing()
    with pytest.raises(Refused) as refused:
        job_hand_over(job=job, member=small.owner, now=HALF)
    assert "reason" in refused.value.by_field()


def test_an_owners_reason_stands_in_the_story():
    small, job, cure = curing()
    job_hand_over(job=job, member=small.owner, now=HALF, reason="Trailer, indoors until Tuesday")
    assert job.state == JobState.HANDED_OVER
    event = job.events.get(to_state=JobState.READY)
    assert (event.member, event.why) == (small.owner, "Trailer, indoors until Tuesday")
    assert event.details["cure_percent"] == 50
    cure.operation.refresh_from_db()
    assert cure.operation.state == OperationState.DONE


def test_once_cured_anybody_hands_it_over_without_a_reason():
    small, job, _cure = curing()
    job_hand_over(job=job, member=small.desk, now=NOW + timedelta(hours=12))
    assert job.state == JobState.HANDED_OVER


def test_a_vehicle_in_work_is_not_handed_over_even_by_an_owner():
    small = small_shop()
    job = JobFactory(shop=small.shop, booked=True, state=JobState.IN_WORK)
    with pytest.raises(Refused, match="is in work and cannot become handed over"):
        job_hand_over(job=job, member=small.owner, now=NOW, reason="Because")
