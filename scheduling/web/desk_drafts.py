"""Calls under way: take one over, put one away, bring it back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from scheduling.models import CallDraft
from scheduling.selectors.drafts import draft_found
from scheduling.services.drafts import draft_bring_back, draft_discard, draft_take_over
from shop.access import DESK, MemberRequest, member_required
from shop.refusals import Conflict

Step = Callable[..., CallDraft]


@member_required(DESK)
@require_POST
def call_take(request: MemberRequest, key: UUID) -> HttpResponse:
    """Go on with a call that somebody else has in hand."""
    return _step(request, key, draft_take_over, _("You have the call in hand: %s."))


@member_required(DESK)
@require_POST
def call_back(request: MemberRequest, key: UUID) -> HttpResponse:
    """Bring a call back that was put away."""
    return _step(request, key, draft_bring_back, _("The call is open again: %s."))


@member_required(DESK)
@require_POST
def call_discard(request: MemberRequest, key: UUID) -> HttpResponse:
    """Put a call away; the head of the desk offers to bring it back."""
    _step(request, key, draft_discard, "")
    # Who puts another call away stays with the one before them.
    staying = request.POST.get("staying", "")
    return redirect(f"{reverse('desk')}?call={staying}" if staying else "desk")


def _step(request: MemberRequest, key: UUID, step: Step, done: str) -> HttpResponse:
    draft = draft_found(request.member.shop, key)
    if draft is None:
        raise Http404
    now: datetime = timezone.now()
    told: dict[str, Any] = {"draft": draft, "member": request.member, "now": now}
    try:
        step(**told)
    except Conflict as refused:
        messages.error(request, str(refused))
        return redirect("desk")
    if done:
        messages.success(request, done % (draft.title or _("no name yet")))
    return redirect(f"{reverse('desk')}?call={key}")
