"""The link to a customer's page, shown at the desk; withdrawn and made anew there."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from estimating.models import Quote
from estimating.services.customer_pages import page_of, page_path, page_renew, page_withdraw
from shop.access import DESK, MemberRequest, member_required


@require_POST
@member_required(DESK)
def customer_link(request: MemberRequest, quote_id: int) -> HttpResponse:
    """Withdraw the link, or make a new one; then back to the quote or its job."""
    quote = get_object_or_404(Quote.objects.of(request.member.shop), pk=quote_id)
    if request.POST.get("do") == "withdraw":
        page_withdraw(quote=quote, member=request.member)
        messages.success(request, _("The customer's link is withdrawn; it opens nothing now."))
    else:
        page_renew(quote=quote, member=request.member, now=timezone.now())
        messages.success(request, _("The customer has a new link; one before it opens nothing."))
    if request.POST.get("back") == "job" and quote.job_id:
        return redirect("job", quote.job_id)
    return redirect("quote", quote.pk)


def link_shown(request: HttpRequest, quote: Quote | None) -> dict[str, Any]:
    """What ``quote/link.html`` needs; one query."""
    path = page_path(page_of(quote)) if quote is not None else ""
    address = ""
    if path:
        address = (
            settings.PUBLIC_URL + path if settings.PUBLIC_URL else request.build_absolute_uri(path)
        )
    return {"customer_link": address}
