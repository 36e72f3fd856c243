"""Photographs of a job, before beside after: a page of its own, and a part of the job's page.

The job's page fetches it afterwards, since it may ask the database no more than it does.
"""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_safe

from estimating.models import Quote
from estimating.photos_shown import photo_rows, photos_of_job
from shop.access import MemberRequest, member_required
from shop.models import Job, JobState
from shop.web.pages import page

_AFTER_WORK = frozenset({JobState.READY, JobState.HANDED_OVER, JobState.CLOSED})


@require_safe
@member_required()
def job_photos(request: MemberRequest, pk: int) -> HttpResponse:
    """Show what was photographed for a job."""
    job = get_object_or_404(Job.objects.of(request.member.shop).select_related("vehicle"), pk=pk)
    inspection = Quote.objects.filter(job=job).values_list("inspection", flat=True).first()
    shown = photos_of_job(
        vehicle=job.vehicle_id,
        inspection=inspection,
        since=job.arrived_at,
        until=job.handed_over_at,
    )
    context = {
        "job": job,
        "photo_rows": photo_rows(shown),
        "inspection_id": inspection,
        "stage": "after" if job.state in _AFTER_WORK else "before",
        "now": timezone.now(),
    }
    return page(request, "job/photos_page.html", context)
