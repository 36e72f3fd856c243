"""A visit moved by hand lands where it was shown, or nothing is written; and it goes back."""

from datetime import timedelta

import pytest

from scheduling.models import Hold
from scheduling.services.bookings import booking_make, booking_move
from scheduling.services.floor import job_check_in
from scheduling.services.visit_drag import Shown, visit_back, visit_put, visit_try
from shop.refusals import Conflict, Refused
from tests import factories as make
from tests.factories import NOW
from tests.scheduling.shops import correction, quoted_job, small_shop, wash

pytestmark = pytest.mark.django_db
WEDNESDAY = NOW + timedelta(days=2, hours=1)


@pytest.fixture
def small():
    return small_shop()


@pytest.fixture
def job(small):
    made = quoted_job(small, wash(), correction())
    return booking_make(job=made, member=small.desk, now=NOW)


def holds(job):
    rows = Hold.objects.filter(job=job).order_by("start", "pk")
    return list(rows.values_list("resource", "start", "end", "operation", "purpose"))


def put(small, job, at, **changes):
    trial = visit_try(job=job, at=at, bay=None, now=NOW)
    shown = Shown(job.arrives_at, trial.offer.arrives_at, trial.offer.promised_at)
    values = {"bay": None, "shown": shown, "why": "Asked for", **changes}
    return visit_put(job=job, member=small.desk, now=NOW, at=at, **values)


def test_trying_writes_nothing_and_the_move_lands_as_shown(small, job) -> None:
    before = holds(job)
    trial = visit_try(job=job, at=WEDNESDAY, bay=None, now=NOW)
    assert trial.offer.arrives_at == WEDNESDAY
    assert holds(job) == before
    put(small, job, WEDNESDAY)
    job.refresh_from_db()
    assert (job.arrives_at, job.promised_at) == (WEDNESDAY, trial.offer.promised_at)
    assert job.events.filter(kind="moved", why="Asked for").count() == 1


def test_what_is_in_the_way_pushes_the_landing_on(small, job) -> None:
    other = quoted_job(small, wash(60))
    booking_make(job=other, member=small.desk, now=NOW, earliest=WEDNESDAY)
    trial = visit_try(job=job, at=WEDNESDAY, bay=None, now=NOW)
    # The other vehicle stands in the wash bay until its promised pick-up.
    other.refresh_from_db()
    assert other.promised_at is not None
    assert other.promised_at > WEDNESDAY
    assert trial.offer.steps[0].start == other.promised_at


def test_a_bay_that_is_wished_for_is_taken_though_another_is_free(small, job) -> None:
    second = make.BayFactory(
        shop=small.shop, name="Far bay", capabilities=["correction"], position=9
    )
    plain = visit_try(job=job, at=WEDNESDAY, bay=None, now=NOW).offer
    wished = visit_try(job=job, at=WEDNESDAY, bay=second, now=NOW).offer
    assert [step.bay for step in plain.steps] == ["Wash bay", "Correction bay"]
    assert [step.bay for step in wished.steps] == ["Wash bay", "Far bay"]


def test_moved_by_somebody_else_meanwhile_nothing_is_written(small, job) -> None:
    seen = type(job).objects.get(pk=job.pk)
    booking_move(job=job, member=small.owner, now=NOW, earliest=NOW + timedelta(days=1))
    held = holds(job)
    with pytest.raises(Conflict, match=f"moved by {small.owner.name} meanwhile"):
        put(small, seen, WEDNESDAY)
    assert holds(job) == held


def test_what_was_shown_and_is_gone_is_refused_with_what_is_there_now(small, job) -> None:
    trial = visit_try(job=job, at=WEDNESDAY, bay=None, now=NOW)
    shown = Shown(job.arrives_at, trial.offer.arrives_at, trial.offer.promised_at)
    other = quoted_job(small, wash(60))
    booking_make(job=other, member=small.desk, now=NOW, earliest=WEDNESDAY)
    before = holds(job)
    with pytest.raises(Conflict, match="Nothing was moved"):
        put(small, job, WEDNESDAY, shown=shown)
    assert holds(job) == before


def test_a_vehicle_that_is_here_a_time_that_is_over_and_no_reason_are_refused(small, job) -> None:
    past = visit_try(job=job, at=NOW - timedelta(minutes=5), bay=None, now=NOW)
    assert past.offer is None
    assert "has passed" in past.reasons[0]
    with pytest.raises(Refused, match="Say why"):
        put(small, job, WEDNESDAY, why=" ")
    job_check_in(job=job, member=small.desk, now=NOW)
    job.refresh_from_db()
    here = visit_try(job=job, at=WEDNESDAY, bay=None, now=NOW)
    assert here.offer is None
    assert "not here yet" in here.reasons[0]


def test_a_move_is_taken_back_exactly(small, job) -> None:
    before, times = holds(job), (job.arrives_at, job.ready_at, job.promised_at)
    planned = list(job.operations.values_list("planned_start", "planned_end"))
    token = put(small, job, WEDNESDAY)
    visit_back(token=token, member=small.desk, now=NOW)
    job.refresh_from_db()
    assert sorted(holds(job), key=str) == sorted(before, key=str)
    assert (job.arrives_at, job.ready_at, job.promised_at) == times
    assert list(job.operations.values_list("planned_start", "planned_end")) == planned
    with pytest.raises(Conflict, match="meanwhile"):
        visit_back(token=token, member=small.desk, now=NOW)


def test_a_place_that_somebody_took_is_not_gone_back_to(small, job) -> None:
    start = job.arrives_at
    token = put(small, job, WEDNESDAY)
    taker = quoted_job(small, wash())
    booking_make(job=taker, member=small.owner, now=NOW, earliest=start)
    held = holds(job)
    with pytest.raises(Conflict):
        visit_back(token=token, member=small.desk, now=NOW)
    assert holds(job) == held


def test_a_token_of_another_shop_or_made_up_moves_nothing(small, job) -> None:
    token = put(small, job, WEDNESDAY)
    stranger = make.MemberFactory()
    for wrong, member in ((token, stranger), ("made up", small.desk)):
        with pytest.raises(Refused):
            visit_back(token=wrong, member=member, now=NOW)
    job.refresh_from_db()
    assert job.arrives_at == WEDNESDAY
