"""The shop's calendar becomes a week whose plan is valid, whatever state its vehicles are in."""

import time
from datetime import timedelta

import pytest

from scheduling.core.check import check_plan
from scheduling.core.effort import Effort
from scheduling.core.replan import nobody_else_moves
from scheduling.models import Absence, Hold
from scheduling.services.bookings import booking_make
from scheduling.services.floor import job_check_in, work_finish, work_start
from scheduling.services.weekmoves import changed_lines, mixed
from scheduling.services.weekplan import weekplan_load
from tests.factories import NOW
from tests.scheduling.shops import coat, correction, cure, quoted_job, small_shop, wash

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


def booked(small, *rows, days=0):
    job = quoted_job(small, *rows)
    return booking_make(job=job, member=small.desk, now=NOW, earliest=NOW + days * 24 * HOUR)


def test_booked_vehicles_stand_as_they_are_booked():
    small = small_shop()
    jobs = [booked(small, wash(), correction(240), coat(), cure()) for _ in range(4)]
    read = weekplan_load(shop=small.shop, as_of=NOW)
    assert check_plan(read.week, read.damage.plan) == []
    assert read.damage.hit == ()
    assert {line.job for line in read.lines.values()} == set(jobs)
    assert changed_lines(read, mixed(read, read.damage.plan, read.lines)) == []


def test_a_vehicle_under_way_is_what_is_left_of_it():
    small = small_shop()
    job = booked(small, wash(), correction(240), coat(), cure())
    job_check_in(job=job, member=small.desk, now=job.arrives_at)
    first, second, *_rest = job.operations.all()
    work_start(operation=first, member=small.tech, now=first.planned_start)
    work_finish(operation=first, member=small.tech, now=first.planned_end)
    work_start(operation=second, member=small.tech, now=second.planned_start)
    now = second.planned_start + HOUR
    read = weekplan_load(shop=small.shop, as_of=now)
    assert check_plan(read.week, read.damage.plan) == []
    (line,) = read.lines.values()
    assert [row.sequence for row in line.rows] == [2, 3, 4]
    assert line.chain.ops[1].modes[0].dur == 180


def test_work_that_runs_over_is_hit():
    small = small_shop()
    job = booked(small, correction(120))
    job_check_in(job=job, member=small.desk, now=job.arrives_at)
    operation = job.operations.get()
    work_start(operation=operation, member=small.tech, now=operation.planned_start)
    read = weekplan_load(shop=small.shop, as_of=operation.planned_end + HOUR / 4)
    assert [read.lines[key].job for key in read.damage.hit] == [job]


def test_an_absence_hits_whoever_needs_that_person():
    small = small_shop()
    one, other = booked(small, correction(120)), booked(small, correction(120), days=3)
    Absence.objects.create(resource=small.crew, start=NOW, end=NOW + 8 * HOUR)
    read = weekplan_load(shop=small.shop, as_of=NOW)
    assert [read.lines[key].job for key in read.damage.hit] == [one]
    assert other in [line.job for line in read.lines.values()]


def test_holds_that_do_not_fit_together_are_kept_as_they_are():
    small = small_shop()
    odd, plain = booked(small, correction(120)), booked(small, correction(120))
    Hold.objects.filter(job=odd, resource__kind="bay").update(resource=small.wash)
    Hold.objects.filter(job=odd, resource__kind="bay").delete()
    read = weekplan_load(shop=small.shop, as_of=NOW)
    assert [line.job for line in read.lines.values()] == [plain]
    assert check_plan(read.week, read.damage.plan) == []


def test_work_that_runs_over_is_still_where_it_was_begun():
    """It was to have left the wash bay: what is left of the wash cannot be done elsewhere."""
    small = small_shop()
    job = booked(small, wash(), correction(120))
    job_check_in(job=job, member=small.desk, now=job.arrives_at)
    first = job.operations.first()
    work_start(operation=first, member=small.tech, now=first.planned_start)
    read = weekplan_load(shop=small.shop, as_of=first.planned_end + HOUR / 4)
    mended = nobody_else_moves(read.damage, Effort(5), clock=time.monotonic)
    assert mended.proven
    line = read.lines[f"j{job.pk}"]
    rest, then = (mended.plan.ops[step.id] for step in line.chain.ops[1:3])
    assert rest.spot == f"r{small.wash.pk}"
    assert then.start >= rest.end
