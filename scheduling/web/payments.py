"""Taking money at the job page."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from scheduling.web.forms import PaymentForm
from shop.access import DESK, MemberRequest, member_required
from shop.models import Job
from shop.refusals import Refused
from shop.services.payments import payment_record


@require_POST
@member_required(DESK)
def payment(request: MemberRequest, pk: int) -> HttpResponse:
    """Keep one payment and go back to the job."""
    job = get_object_or_404(Job.objects.of(request.member.shop), pk=pk)
    form = PaymentForm(request.POST)
    if not form.is_valid():
        for name, errors in form.errors.items():
            label = form.fields[name].label if name in form.fields else ""
            messages.error(request, f"{label}: {' '.join(map(str, errors))}")
        return redirect("job", pk)
    try:
        payment_record(job=job, member=request.member, now=timezone.now(), **form.cleaned_data)
    except Refused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, _("The payment is noted."))
    return redirect("job", pk)
