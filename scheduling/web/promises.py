"""Promises kept: what was said with a probability beside what became of it."""

from __future__ import annotations

from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from scheduling.selectors.promises_kept import promises_kept
from shop.access import DESK, MemberRequest, member_required
from shop.web.pages import page


@require_safe
@member_required(DESK)
def promises(request: MemberRequest) -> HttpResponse:
    """Show the share of promises met by probability band, of the last year."""
    shop = request.member.shop
    context = {
        "bands": promises_kept(shop, timezone.now()),
        "wanted": shop.promise_probability,
    }
    return page(request, "promises/promises.html", context)
