"""A search proposes, a person decides: nothing moves by itself, nothing is half moved."""

from datetime import timedelta

import pytest

from scheduling.models import Absence, Hold, PlanRun, PlanRunState, Reminder
from scheduling.services.answers import answer_accept
from scheduling.services.bookings import booking_make
from scheduling.services.planruns import planrun_ask, planrun_leave, planrun_stop, planrun_work
from shop.refusals import Conflict, Refused
from tests.factories import NOW
from tests.scheduling.planning.stays import LATER, long_stay
from tests.scheduling.shops import correction, quoted_job, small_shop

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def busy_shop(count=3):
    """One correction bay, jobs of a day's work one after another, the first one called off."""
    small = small_shop()
    jobs = []
    for _ in range(count):
        job = quoted_job(small, correction(480))
        jobs.append(booking_make(job=job, member=small.desk, now=NOW, earliest=NOW))
    return small, jobs


def search(small, kind, **more):
    run = planrun_ask(member=small.owner, kind=kind, now=NOW, seconds=5, **more)
    planrun_work(run_id=run.pk, clock=lambda: NOW)
    run.refresh_from_db()
    return run


def held():
    return sorted(Hold.objects.values_list("resource_id", "job_id", "start", "end"))


def away_tomorrow(small):
    Absence.objects.create(resource=small.crew, start=NOW + DAY, end=NOW + DAY * 2)


def test_improving_gains_and_moves_nothing_until_it_is_accepted():
    small = small_shop()
    job = long_stay(small)
    before, told = held(), job.promised_at
    run = search(small, "improve")
    assert (run.state, run.problem) == (PlanRunState.DONE, "")
    assert run.bound <= run.best < run.before
    assert held() == before
    (answer,) = run.proposal["answers"]
    (row,) = answer["rows"]
    answer_accept(run=run, key="week", chosen=[row["key"]], member=small.owner, now=NOW)
    job.refresh_from_db()
    assert told is not None
    assert job.promised_at == told - LATER
    assert job.operations.get().planned_start == NOW
    assert run.accepted == ["week", job.number]


def test_a_gain_that_is_less_than_the_price_of_a_change_is_not_worth_it():
    small = small_shop()
    job = quoted_job(small, correction(60))
    booking_make(job=job, member=small.desk, now=NOW, earliest=NOW)
    run = search(small, "improve")
    assert run.best == run.before
    assert run.proposal["answers"][0]["rows"] == []


def test_mending_answers_twice_and_accepting_moves():
    small, jobs = busy_shop()
    away_tomorrow(small)
    run = search(small, "mend", most_moved=1)
    nobody = run.proposal["answers"][0]
    hit = {row["number"] for row in nobody["rows"]}
    assert hit
    assert all(row["hit"] for row in nobody["rows"])
    rows = [row["key"] for row in nobody["rows"]]
    moved = answer_accept(run=run, key="nobody", chosen=rows, member=small.owner, now=NOW)
    assert {job.number for job in moved} == hit
    for row in nobody["rows"]:
        job = next(job for job in jobs if job.number == row["number"])
        job.refresh_from_db()
        assert job.promised_at.isoformat() == row["pick_up_after"]
        assert job.events.filter(kind="moved", member=small.owner).count() == 1
        assert Reminder.objects.filter(job=job, why__startswith="Moved to").exists()
    assert not Hold.objects.filter(
        resource=small.crew, start__lt=NOW + DAY * 2, end__gt=NOW + DAY
    ).exists()
    # Once more: there is nothing left to mend.
    again = search(small, "mend")
    assert again.proposal["hit"] == []


def test_a_stale_proposal_is_refused_and_nothing_is_half_moved():
    small, jobs = busy_shop()
    away_tomorrow(small)
    run = search(small, "mend", most_moved=0)
    rows = run.proposal["answers"][0]["rows"]
    other = next(job for job in jobs if job.number == rows[0]["number"])
    Hold.objects.filter(job=other, resource=small.crew).first().delete()
    before = held()
    with pytest.raises(Conflict, match=f"{other.number} was changed since"):
        answer_accept(
            run=run, key="nobody", chosen=[r["key"] for r in rows], member=small.owner, now=NOW
        )
    assert held() == before
    run.refresh_from_db()
    assert run.answered_at is None


def test_a_place_taken_since_is_refused_with_what_has_it():
    small, _jobs = busy_shop(1)
    away = Absence.objects.create(resource=small.crew, start=NOW, end=NOW + DAY)
    run = search(small, "mend", most_moved=0)
    (row,) = run.proposal["answers"][0]["rows"]
    away.delete()
    # Somebody else is booked where the proposal wants to go.
    late = quoted_job(small, correction(480))
    booking_make(job=late, member=small.desk, now=NOW, earliest=NOW + DAY)
    before = held()
    with pytest.raises(Conflict, match="does not go together, or the calendar has changed"):
        answer_accept(run=run, key="nobody", chosen=[row["key"]], member=small.owner, now=NOW)
    assert held() == before


def test_one_search_at_a_time_and_each_shop_its_own():
    small, _jobs = busy_shop(1)
    planrun_ask(member=small.owner, kind="improve", now=NOW)
    with pytest.raises(Conflict, match="going on already"):
        planrun_ask(member=small.desk, kind="mend", now=NOW)
    planrun_ask(member=small_shop().owner, kind="improve", now=NOW)
    # A search that died does not block the shop for ever.
    planrun_ask(member=small.owner, kind="improve", now=NOW + timedelta(minutes=3))
    assert PlanRun.objects.filter(shop=small.shop, state=PlanRunState.FAILED).count() == 1


def test_stopped_before_it_began_it_never_runs():
    small, _jobs = busy_shop(1)
    run = planrun_ask(member=small.owner, kind="improve", now=NOW)
    planrun_stop(run=run, now=NOW)
    planrun_work(run_id=run.pk, clock=lambda: NOW)
    run.refresh_from_db()
    assert (run.state, run.proposal) == (PlanRunState.STOPPED, {})


def test_left_as_it_is_it_cannot_be_accepted_any_more():
    small, _jobs = busy_shop()
    away_tomorrow(small)
    run = search(small, "mend")
    planrun_leave(run=run, member=small.owner, now=NOW)
    with pytest.raises(Conflict, match="answered already"):
        answer_accept(run=run, key="nobody", chosen=["j1"], member=small.owner, now=NOW)


@pytest.mark.parametrize("wrong", [{"seconds": 0}, {"seconds": 9999}, {"most_moved": 7}])
def test_out_of_bounds_is_refused(wrong):
    small = small_shop()
    with pytest.raises(Refused, match=str(next(iter(wrong.values())))):
        planrun_ask(member=small.owner, kind="mend", now=NOW, **wrong)
