"""Calendar feeds: the calendar itself for whoever has its address, and where addresses are made."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from scheduling.models import Resource, ResourceKind
from scheduling.selectors.feeds import feeds_of
from scheduling.services.feeds import (
    feed_text,
    resource_feed_open,
    resource_feed_withdraw,
)
from scheduling.services.visit_feeds import visit_feed_token
from shop.access import DESK, MemberRequest, member_required
from shop.models import Job, Role
from shop.refusals import Refused
from shop.web.pages import page


@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponse:
    """Answer a calendar program: the address is the only key, so nobody signs in here."""
    found = feed_text(token=token, now=timezone.now())
    if found is None:
        raise Http404
    response = get_conditional_response(request, etag=found.etag) or HttpResponse(
        found.body, content_type="text/calendar; charset=utf-8"
    )
    response.headers["ETag"] = found.etag
    # Kept by the program that asked, by nobody between, and asked after each time.
    response.headers["Cache-Control"] = "private, no-cache"
    response.headers["X-Robots-Tag"] = "noindex"
    return response


@require_safe
@member_required(frozenset({Role.OWNER, Role.TECHNICIAN}))
def feeds(request: MemberRequest) -> HttpResponse:
    """Show which calendars have an address: the owner's all, a technician's own."""
    context = {"rows": feeds_of(request.member), "now": timezone.now()}
    return page(request, "feeds/feeds.html", context)


@require_POST
@member_required(frozenset({Role.OWNER, Role.TECHNICIAN}))
def feed_open(request: MemberRequest, pk: int) -> HttpResponse:
    """Make an address, and show it this once."""
    resource = _resource(request, pk)
    try:
        token = resource_feed_open(resource=resource, member=request.member, now=timezone.now())
    except Refused as refused:
        return _no(request, refused)
    return _address(request, token, resource.name, reverse("feeds"), _("Calendar feeds"))


@require_POST
@member_required(frozenset({Role.OWNER, Role.TECHNICIAN}))
def feed_withdraw(request: MemberRequest, pk: int) -> HttpResponse:
    """End an address."""
    resource = _resource(request, pk)
    try:
        resource_feed_withdraw(resource=resource, member=request.member)
    except Refused as refused:
        return _no(request, refused)
    text = _("The address of %s is withdrawn; whoever had it sees nothing new.")
    messages.success(request, text % resource.name)
    return redirect("feeds")


@require_POST
@member_required(DESK)
def visit_feed(request: MemberRequest, pk: int) -> HttpResponse:
    """Show the address of a customer's visit; ``anew=yes`` ends the one before."""
    job = get_object_or_404(Job.objects.of(request.member.shop), pk=pk)
    token = visit_feed_token(
        job=job,
        now=timezone.now(),
        member=request.member,
        anew=request.POST.get("anew") == "yes",
    )
    back = reverse("job", args=[pk])
    return _address(request, token, _("Visit %s") % job.number, back, job.number, job)


def _resource(request: MemberRequest, pk: int) -> Resource:
    rows = Resource.objects.of(request.member.shop).select_related("member")
    return get_object_or_404(
        rows.filter(kind__in=[ResourceKind.BAY, ResourceKind.TECHNICIAN]), pk=pk
    )


def _address(
    request: MemberRequest,
    token: str,
    name: str,
    back: str,
    back_label: str,
    job: Job | None = None,
) -> HttpResponse:
    """Show an address. Nothing keeps this page: what is in it opens a calendar."""
    address = request.build_absolute_uri(reverse("feed", args=[token]))
    context: dict[str, Any] = {
        "address": address,
        # Programs that know this scheme offer to subscribe instead of importing once.
        "webcal": "webcal" + address[address.index(":") :],
        "name": name,
        "back": back,
        "back_label": back_label,
        "job": job,
        "now": timezone.now(),
    }
    response = page(request, "feeds/address.html", context)
    response.headers["Cache-Control"] = "no-store"
    return response


def _no(request: MemberRequest, refused: Refused) -> HttpResponse:
    for problem in refused.problems:
        messages.error(request, problem.message)
    context = {"rows": feeds_of(request.member), "now": timezone.now()}
    return page(request, "feeds/feeds.html", context, status=refused.status)
