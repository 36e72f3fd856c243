"""Noting that somebody or something is not there, beside what is at risk by it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from scheduling.models import Absence
from scheduling.services.absences import absence_add, absence_end
from scheduling.web.calendar import show_calendar
from scheduling.web.forms import AbsenceForm
from shop.access import DESK, MemberRequest, member_required
from shop.refusals import Refused
from shop.web import show
from shop.web.pages import add_refusal


@require_POST
@member_required(DESK)
def absence(request: MemberRequest) -> HttpResponse:
    """Note an absence; refused, the calendar comes back with what was typed."""
    now = timezone.now()
    form = AbsenceForm(request.POST, shop=request.member.shop)
    if not form.is_valid():
        return show_calendar(request, form=form, status=400)
    try:
        made = absence_add(member=request.member, now=now, **form.cleaned_data)
    except Refused as refused:
        add_refusal(form, refused)
        return show_calendar(request, form=form, status=refused.status)
    tz = request.member.shop.tz
    words = {
        "what": made.resource.name,
        "start": show.when_text(made.start, tz, now),
        "end": show.when_text(made.end, tz, now),
    }
    messages.success(request, _("%(what)s is away %(start)s to %(end)s.") % words)
    return _back(request)


@require_POST
@member_required(DESK)
def absence_over(request: MemberRequest, pk: int) -> HttpResponse:
    """Take an absence back: whoever it was is there again."""
    rows = Absence.objects.filter(resource__shop=request.member.shop).select_related("resource")
    found = get_object_or_404(rows, pk=pk)
    absence_end(absence=found, now=timezone.now())
    messages.success(request, _("%s is there again.") % found.resource.name)
    return _back(request)


def _back(request: MemberRequest) -> HttpResponseRedirect:
    query = request.GET.urlencode()
    return HttpResponseRedirect(reverse("calendar") + (f"?{query}" if query else ""))
