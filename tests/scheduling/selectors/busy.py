"""A shop with so many vehicles booked, one of them here and in work."""

from __future__ import annotations

from scheduling.models import ClimateReading
from scheduling.services.bookings import booking_make
from scheduling.services.floor import climate_log, job_check_in, work_start
from shop.models import Job
from tests.factories import NOW
from tests.scheduling.shops import Small, coat, correction, cure, quoted_job, small_shop, wash


def busy_shop(count: int) -> tuple[Small, list[Job]]:
    """Book ``count`` vehicles from NOW on; the first is checked in and being washed."""
    small = small_shop()
    jobs = []
    for _ in range(count):
        job = quoted_job(small, wash(), correction(120), coat(), cure(240))
        booking_make(job=job, member=small.desk, now=NOW, earliest=NOW)
        jobs.append(job)
    first = jobs[0]
    job_check_in(job=first, member=small.desk, now=NOW)
    work_start(operation=first.operations.get(sequence=1), member=small.tech, now=NOW)
    first.refresh_from_db()
    climate_log(resource=small.coating, at=NOW, air_c=20.0, humidity_percent=50.0)
    for minute in range(1, count):
        ClimateReading.objects.create(
            shop=small.shop,
            resource=small.coating,
            at=NOW.replace(hour=14, minute=minute),
            air_c=10.0,
            humidity_percent=50.0,
        )
    return small, jobs
