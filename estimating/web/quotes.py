"""The quote as a document, and what can be done with it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from estimating.documents.quote_pdf import quote_pdf, quote_pdf_name
from estimating.models import Quote, QuoteState
from estimating.services.quote_letters import quote_letter_send
from estimating.services.quotes import quote_decline, quote_send
from estimating.similar_quotes import quotes_similar
from estimating.snapshot import coating_of, deposit_of, discount_of
from estimating.web.customer_links import link_shown
from shop.access import DESK, MemberRequest, member_required
from shop.refusals import Refused
from shop.web.pages import page


@member_required(DESK)
def quote(request: MemberRequest, quote_id: int) -> HttpResponse:
    """Show the quote as the customer reads it, with the actions around it."""
    return _page(request, _found(request, quote_id))


@member_required(DESK)
@require_GET
def quote_paper(request: MemberRequest, quote_id: int) -> HttpResponse:
    """The quote as a PDF, to be kept or printed."""
    found = _found(request, quote_id)
    name = f'attachment; filename="{quote_pdf_name(found)}"'
    headers = {"Content-Disposition": name}
    return HttpResponse(quote_pdf(found), content_type="application/pdf", headers=headers)


@member_required(DESK)
@require_POST
def quote_letter(request: MemberRequest, quote_id: int) -> HttpResponse:
    """Send the quote by e-mail, or note that it went another way."""
    found = _found(request, quote_id)
    send = quote_send if request.POST.get("by") == "hand" else quote_letter_send
    try:
        send(quote=found, member=request.member, now=timezone.now())
    except Refused as refused:
        return _page(request, found, refused)
    messages.success(request, _("%s is sent.") % found.number)
    return redirect("quote", found.pk)


@member_required(DESK)
@require_POST
def quote_no(request: MemberRequest, quote_id: int) -> HttpResponse:
    """Note that the customer said no, and why."""
    found = _found(request, quote_id)
    why = request.POST.get("why", "")
    try:
        quote_decline(quote=found, member=request.member, now=timezone.now(), why=why)
    except Refused as refused:
        return _page(request, found, refused, why=why)
    messages.success(request, _("%s is declined.") % found.number)
    return redirect("quote", found.pk)


def _found(request: MemberRequest, pk: int) -> Quote:
    rows = Quote.objects.of(request.member.shop)
    return get_object_or_404(
        rows.select_related("shop", "customer", "vehicle", "inspection", "member", "job"), pk=pk
    )


def _page(
    request: MemberRequest, found: Quote, refused: Refused | None = None, why: str = ""
) -> HttpResponse:
    now = timezone.now()
    made = found.estimate
    errors = refused.by_field() if refused else {}
    versions = Quote.objects.of(found.shop).filter(number=found.number).exclude(pk=found.pk)
    context: dict[str, Any] = {
        "quote": found,
        "estimate": made,
        "panels": made.get("panels", []),
        "work": [row for row in found.operations if row["kind"] != "cure"],
        "coating": coating_of(found.request, found.parameters),
        "total": found.price + found.tax,
        "deposit": deposit_of(found.parameters),
        "discount": discount_of(found.parameters),
        "similar": quotes_similar(found),
        "open": found.state in (QuoteState.OPEN, QuoteState.SENT),
        "over": now >= found.valid_until,
        "versions": versions.only("number", "version", "state", "created_at").order_by("version"),
        "problems": [text for name, texts in errors.items() if name != "why" for text in texts],
        "why": why,
        "why_errors": errors.get("why", []),
        "now": now,
        **link_shown(request, found),
    }
    return page(request, "quote/quote.html", context, status=refused.status if refused else 200)
