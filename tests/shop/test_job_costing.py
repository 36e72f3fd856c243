"""Hours and materials of a job as they stand in the records."""

from datetime import timedelta
from decimal import Decimal

import pytest

from shop.models import Attendance, Job
from shop.selectors import job_costing
from tests import factories as make
from tests.factories import NOW

pytestmark = pytest.mark.django_db

H = timedelta(hours=1)


@pytest.fixture
def job():
    return make.JobFactory()


def work(operation, start, end):
    """A stretch by somebody, in hours from NOW."""
    ended = None if end is None else NOW + end * H
    return make.WorkEntryFactory(operation=operation, started_at=NOW + start * H, ended_at=ended)


def test_two_people_at_once_are_two_of_labour_and_one_of_the_bay(job):
    operation = make.OperationFactory(job=job, crew_count=2, minutes_p50=200.0)
    work(operation, 0, 2)
    work(operation, 1, 3)
    work(operation, 5, 6)
    row = job_costing(job, NOW + 9 * H).operations[0]
    assert row.labour.actual == 5
    assert row.bay.actual == 4
    # 200 minutes by two: 6.6667 person-hours, 3.3333 hours of the bay.
    assert row.labour.estimated == Decimal("6.6667")
    assert row.bay.estimated == Decimal("3.3333")


def test_an_open_stretch_counts_up_to_now(job):
    work(make.OperationFactory(job=job), 0, None)
    for hours in (1, 3):
        sheet = job_costing(job, NOW + hours * H)
        assert sheet.running
        assert sheet.hours.actual == hours
        # 38.00 an hour, as quoted.
        assert sheet.labour.actual == 38 * hours


def test_rates_are_those_of_the_quote(job):
    work(make.OperationFactory(job=job), 0, 1)
    job.shop.labour_rate = Decimal(999)
    job.shop.save()
    sheet = job_costing(Job.objects.get(pk=job.pk), NOW + H)
    assert sheet.labour.actual == 38
    assert sheet.overhead.actual == Decimal("13.30")


def coats(job, gap_minutes):
    """Two coats of an hour, the second after a wait; then an unattended cure."""
    first = make.OperationFactory(job=job, sequence=1, finished_at=NOW + H, started_at=NOW)
    begun = NOW + H + timedelta(minutes=gap_minutes)
    second = make.OperationFactory(
        job=job, sequence=2, lag_min_minutes=30, lag_max_minutes=60, started_at=begun
    )
    make.OperationFactory(
        job=job, sequence=3, attendance=Attendance.UNATTENDED, crew_count=0, minutes_p50=200.0
    )
    work(first, 0, 1)
    make.WorkEntryFactory(operation=second, started_at=begun, ended_at=begun + H)


@pytest.mark.parametrize(
    # The bay is charged for the flash, up to the recoat window; then it merely stands.
    ("gap_minutes", "bay_hours"),
    [(30, "2.5"), (45, "2.75"), (60, "3"), (600, "3")],
)
def test_flash_between_coats_keeps_the_bay_and_the_cure_does_not(job, gap_minutes, bay_hours):
    coats(job, gap_minutes)
    sheet = job_costing(job, NOW + 20 * H)
    assert sheet.bay_hours.actual == Decimal(bay_hours)
    assert sheet.hours.actual == 2
    # 200 minutes twice and half an hour of flash.
    assert sheet.bay_hours.estimated == Decimal("7.1666")


def test_materials_by_item_planned_or_not(job):
    planned = make.PlannedMaterialFactory(job=job, quantity=100, cost=Decimal("4.60"))
    item = planned.consumable
    for quantity in ("60", "50"):
        make.MaterialUseFactory(job=job, consumable=item, quantity=Decimal(quantity))
    extra = make.MaterialUseFactory(job=job, quantity=Decimal(10), unit_cost=Decimal("0.30"))
    unused = make.PlannedMaterialFactory(job=job, quantity=5, cost=Decimal("2"))
    sheet = job_costing(job, NOW)
    lines = {line.code: line for line in sheet.material_lines}
    # 110 ml at 0.046 = 5.06; the estimate was 100 ml for 4.60.
    assert lines[item.code].cost.variance == Decimal("0.46")
    assert lines[item.code].quantity.actual == 110
    assert lines[extra.consumable.code].cost.estimated == 0
    assert lines[unused.consumable.code].cost.actual == 0
    assert sheet.materials.actual == Decimal("8.06")


def test_the_card_fee_of_the_agreed_price_is_a_cost_on_both_sides(job):
    without = job_costing(job, NOW)
    job.card_fee = Decimal("19.72")
    sheet = job_costing(job, NOW)
    assert sheet.cost.estimated - without.cost.estimated == Decimal("19.72")
    assert sheet.cost.actual - without.cost.actual == Decimal("19.72")
    assert sheet.profit.variance == without.profit.variance
