"""Moving a booking: what is free from a day on, then one of these taken."""

from __future__ import annotations

from datetime import datetime

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from scheduling.services.bookings import booking_move
from scheduling.services.offers import Offers, offers_find
from scheduling.web.forms import FreeFromForm, MoveForm
from shop.access import DESK, MemberRequest, member_required
from shop.models import Job
from shop.refusals import Refused
from shop.web import show
from shop.web.pages import add_refusal, page

OFFERS_SHOWN = 3


@require_http_methods(["GET", "HEAD", "POST"])
@member_required(DESK)
def move(request: MemberRequest, pk: int) -> HttpResponse:
    """Show what is free from a moment on; take one of these on POST."""
    shop, now = request.member.shop, timezone.now()
    rows = Job.objects.of(shop).select_related("vehicle", "customer", "shop")
    job = get_object_or_404(rows, pk=pk)
    if request.method != "POST":
        asked = FreeFromForm(request.GET or None, shop=shop, initial={"earliest": job.arrives_at})
        earliest = asked.cleaned_data["earliest"] if asked.is_valid() else job.arrives_at
        return _move_page(request, job, now, asked, MoveForm(shop=shop), earliest)
    form = MoveForm(request.POST, shop=shop)
    status = 400
    if form.is_valid():
        chosen, why = form.cleaned_data["earliest"], form.cleaned_data["why"]
        try:
            booking_move(job=job, member=request.member, now=now, earliest=chosen, why=why)
        except Refused as refused:
            add_refusal(form, refused)
            status = refused.status
            job = get_object_or_404(rows, pk=pk)
        else:
            job.refresh_from_db()
            words = {"job": job.number, "when": show.when_text(job.arrives_at, shop.tz, now)}
            messages.success(request, _("%(job)s now arrives %(when)s.") % words)
            return redirect("job", pk=pk)
    earliest = form.cleaned_data.get("earliest") or job.arrives_at
    asked = FreeFromForm(shop=shop, initial={"earliest": earliest})
    return _move_page(request, job, now, asked, form, earliest, status=status)


def _move_page(
    request: MemberRequest,
    job: Job,
    now: datetime,
    asked: FreeFromForm,
    form: MoveForm,
    earliest: datetime | None,
    *,
    status: int = 200,
) -> HttpResponse:
    try:
        offers = offers_find(
            shop=job.shop,
            operations=list(job.operations.all()),
            earliest=max(earliest or now, now),
            now=now,
            count=OFFERS_SHOWN,
            ignoring=job,
        )
    except Refused as refused:
        offers = Offers([], [problem.message for problem in refused.problems])
    # The value of each choice is what the field of the form reads back.
    choices = [
        (offer.arrives_at.astimezone(job.shop.tz).strftime("%Y-%m-%dT%H:%M"), offer)
        for offer in offers.found
    ]
    context = {
        "job": job,
        "asked": asked,
        "form": form,
        "choices": choices,
        "reasons": offers.reasons,
        "now": now,
    }
    return page(request, "job/move.html", context, status=status)
