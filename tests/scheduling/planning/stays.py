"""A booked visit that is longer than it need be: what a search can gain from."""

from __future__ import annotations

from datetime import timedelta

from django.db.models import F

from scheduling.models import Hold
from scheduling.services.bookings import booking_make
from shop.models import Job
from tests.factories import NOW
from tests.scheduling.shops import Small, correction, quoted_job

LATER = timedelta(hours=6)


def long_stay(small: Small) -> Job:
    """A vehicle that comes at nine and stands in its bay until somebody begins at three."""
    job = quoted_job(small, correction(60))
    booking_make(job=job, member=small.desk, now=NOW, earliest=NOW)
    for hold in Hold.objects.filter(job=job).select_related("resource").order_by("-end"):
        hold.start += LATER if hold.resource == small.crew else timedelta()
        hold.end += LATER
        hold.save()
    job.operations.update(
        planned_start=F("planned_start") + LATER, planned_end=F("planned_end") + LATER
    )
    Job.objects.filter(pk=job.pk).update(
        ready_at=F("ready_at") + LATER, promised_at=F("promised_at") + LATER
    )
    job.refresh_from_db()
    return job
