"""The cure follows the logged temperature, in absolute time."""

from datetime import UTC, datetime, timedelta

import pytest

from scheduling.models import Reminder, ReminderPurpose
from scheduling.services.cures import cure_forecast, cures_update
from scheduling.services.floor import climate_log
from scheduling.services.reminder_rows import cure_reminder_set
from shop.models import JobState, OperationState
from tests.factories import NOW, CureFactory, HoldFactory, JobFactory
from tests.scheduling.shops import agrees, small_shop

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


def curing(started_at=NOW, zone="America/Chicago", **figures):
    small = small_shop(zone=zone)
    job = JobFactory(shop=small.shop, booked=True, state=JobState.CURING)
    agrees(job.customer)
    HoldFactory(
        shop=small.shop,
        resource=small.coating,
        job=job,
        start=started_at - HOUR,
        end=started_at + 60 * HOUR,
    )
    cure = CureFactory(
        job=job,
        operation__state=OperationState.RUNNING,
        operation__started_at=started_at,
        started_at=started_at,
        forecast_handover_at=started_at + 12 * HOUR,
        forecast_full_at=started_at + 168 * HOUR,
        **figures,
    )
    return small, cure


@pytest.mark.parametrize(
    ("start", "end"),
    [
        # From 18:00 on the eve of the change, wall-clock addition would say 18:00 both times.
        (datetime(2025, 11, 1, 22, 0, tzinfo=UTC), "2025-11-02 17:00"),
        (datetime(2026, 3, 7, 23, 0, tzinfo=UTC), "2026-03-08 19:00"),
    ],
    ids=["autumn", "spring"],
)
def test_a_day_of_cure_is_24_hours_whatever_the_clocks_do(start, end):
    # Clock changes of America/New_York in 2025 and 2026: IANA tz data.
    small, cure = curing(start, zone="America/New_York", handover_hours=24.0)
    until = cure_forecast(cure, start).handover_at
    assert f"{until.astimezone(small.shop.tz):%Y-%m-%d %H:%M}" == end


def test_a_cold_night_moves_the_end_and_its_message():
    # Ten degrees below the reference and a factor of 2 for ten degrees: half as fast. Logged
    # at the start and six hours later, that is 3 of 12 hours; the other 9 at the assumed 20 °C.
    small, cure = curing()
    cure_reminder_set(cure=cure, now=NOW)
    before = Reminder.objects.get(purpose=ReminderPurpose.CURE_DONE).due_at
    for hours in (0, 6):
        climate_log(
            resource=small.coating, at=NOW + hours * HOUR, air_c=10.0, humidity_percent=40.0
        )
    cure.refresh_from_db()
    assert cure.forecast_handover_at == NOW + 15 * HOUR
    reminder = Reminder.objects.get(purpose=ReminderPurpose.CURE_DONE)
    # Both fall into the night (21:00 and midnight), so the message still waits for 08:00.
    assert reminder.due_at == before
    climate_log(resource=small.coating, at=NOW + 24 * HOUR, air_c=0.0, humidity_percent=40.0)
    reminder.refresh_from_db()
    assert reminder.due_at > before


def test_the_panel_counts_where_it_was_measured():
    small, cure = curing()
    for hours in (0, 6):
        climate_log(
            resource=small.coating,
            at=NOW + hours * HOUR,
            air_c=10.0,
            humidity_percent=40.0,
            surface_c=20.0,
        )
    assert cure_forecast(cure, NOW + 6 * HOUR).handover_at == NOW + 12 * HOUR


def test_another_bay_says_nothing_about_it():
    small, cure = curing()
    climate_log(resource=small.wash, at=NOW + HOUR, air_c=5.0, humidity_percent=40.0)
    assert cure_forecast(cure, NOW + 2 * HOUR).handover_at == NOW + 12 * HOUR


def test_a_late_clock_still_writes_the_true_end():
    _small, cure = curing()
    assert cures_update(now=NOW + 40 * HOUR) == 1
    cure.operation.refresh_from_db()
    assert cure.operation.finished_at == NOW + 12 * HOUR
