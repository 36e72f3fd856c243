"""One vehicle: what it is, what was found on it, what was offered and done."""

from __future__ import annotations

from django.contrib import messages
from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET

from estimating.documents.certificate import certificate_pdf
from estimating.film_years import film_years
from estimating.models import Inspection, Quote
from estimating.photos_shown import photo_rows, photos_of
from estimating.selectors import local_day
from shop.access import DESK, MemberRequest, member_required
from shop.models import Job, Vehicle
from shop.refusals import Refused
from shop.web.pages import page


@member_required()
def vehicle(request: MemberRequest, vehicle_id: int) -> HttpResponse:
    """The vehicle's history, newest first."""
    shop, now = request.member.shop, timezone.now()
    rows = Vehicle.objects.of(shop).select_related("customer")
    found = get_object_or_404(rows, pk=vehicle_id)
    inspections = Inspection.objects.of(shop).filter(vehicle=found).select_related("member")
    quotes = Quote.objects.of(shop).filter(vehicle=found).select_related("job")
    context = {
        "vehicle": found,
        "age_months": found.age_months(local_day(shop, now)),
        "inspections": inspections.prefetch_related("panels")[:20],
        "quotes": quotes.defer("request", "parameters", "estimate", "operations", "materials")[:20],
        "photo_rows": photo_rows(photos_of(Q(inspection__vehicle=found)).reverse()[:40]),
        "jobs": Job.objects.of(shop).filter(vehicle=found)[:20],
        "may_quote": request.member.role in DESK,
        "years": film_years(found),
        "unit": shop.film_unit,
        "now": now,
    }
    return page(request, "customers/vehicle.html", context)


@require_GET
@member_required()
def certificate(request: MemberRequest, vehicle_id: int) -> HttpResponse:
    """The film readings of all inspections as a PDF for the customer."""
    rows = Vehicle.objects.of(request.member.shop).select_related("customer", "shop")
    found = get_object_or_404(rows, pk=vehicle_id)
    try:
        paper = certificate_pdf(found)
    except Refused as refused:
        messages.error(request, str(refused))
        return redirect("vehicle", vehicle_id)
    headers = {"Content-Disposition": f'attachment; filename="film-{found.pk}.pdf"'}
    return HttpResponse(paper, content_type="application/pdf", headers=headers)
