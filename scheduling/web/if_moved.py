"""The visit there would be if one booking were moved: told apart, confirmed on its own page."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Final

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _t
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_http_methods, require_POST

from estimating.models import Quote
from scheduling.services.bookings_moved import ANSWER_WITHIN, quote_book_with_move
from scheduling.services.offers import operations_of_quote
from scheduling.services.offers_moved import LEAST_GAIN, OfferIfMoved, offer_if_moved
from scheduling.web.desk_call import work_asked
from scheduling.web.visits import day_said, first_moment
from shop.access import DESK, MemberRequest, member_required
from shop.refusals import Conflict, Refused
from shop.web.pages import add_refusal, page

_HOURS: Final = LEAST_GAIN // timedelta(hours=1)


class ConsentForm(forms.Form):
    """What was said to the other customer, and who agreed."""

    asked_at = forms.CharField(widget=forms.HiddenInput, max_length=40)
    key = forms.CharField(widget=forms.HiddenInput, max_length=200)
    earliest = forms.CharField(widget=forms.HiddenInput, max_length=10, required=False)
    consent = forms.CharField(
        label=_("Who agreed, and how"),
        max_length=200,
        help_text=_("Stands in the story of the booking that moves, with your name."),
    )

    def clean_asked_at(self) -> datetime:
        """The moment of the question, as it was written by this page."""
        try:
            at: datetime | None = datetime.fromisoformat(self.cleaned_data["asked_at"])
        except ValueError:
            at = None
        if at is None or at.tzinfo is None:
            raise forms.ValidationError(_t("Look at the times anew."))
        return at


@member_required(DESK)
@require_POST
def desk_if_moved(request: MemberRequest) -> HttpResponse:
    """What one move would bring for the state of the desk; nothing where it brings nothing."""
    now = timezone.now()
    found = None
    try:
        operations, earliest, kept = work_asked(request, request.POST, now)
        if operations:
            found = offer_if_moved(
                shop=request.member.shop,
                operations=operations,
                earliest=earliest,
                now=now,
                ignoring=kept,
            )
    except Refused:
        found = None  # the desk itself says what is wrong
    return render(request, "desk/if_moved_found.html", {"found": found, "now": now})


@member_required(DESK)
@require_http_methods(["GET", "POST"])
def quote_if_moved(request: MemberRequest, quote_id: int) -> HttpResponse:
    """Say what one move would bring for a quote; with a consent, move and book."""
    now = timezone.now()
    rows = Quote.objects.of(request.member.shop).select_related("shop", "customer", "vehicle")
    quote = get_object_or_404(rows, pk=quote_id)
    if request.method != "POST":
        return _shown(request, quote, day_said(request.GET.get("earliest", "")), now)
    form = ConsentForm(request.POST)
    day = day_said(request.POST.get("earliest", ""))
    if not form.is_valid():
        if "asked_at" in form.errors or "key" in form.errors:
            return _shown(
                request, quote, day, now, problem=_t("Look at the times anew."), status=400
            )
        return _shown(request, quote, day, now, form=form, status=400)
    asked_at = form.cleaned_data["asked_at"]
    try:
        job = quote_book_with_move(
            quote=quote,
            member=request.member,
            now=now,
            earliest=first_moment(quote.shop, day, asked_at),
            asked_at=asked_at,
            key=form.cleaned_data["key"],
            consent=form.cleaned_data["consent"],
        )
    except Conflict as refused:
        return _shown(request, quote, day, now, problem=str(refused), status=refused.status)
    except Refused as refused:
        add_refusal(form, refused)
        problem = " ".join(str(text) for text in form.non_field_errors())
        return _shown(request, quote, day, now, form=form, problem=problem, status=refused.status)
    messages.success(request, _t("Job %s is booked, and one other was moved.") % job.number)
    return redirect("job", job.pk)


def _shown(
    request: MemberRequest,
    quote: Quote,
    day: date | None,
    now: datetime,
    *,
    form: ConsentForm | None = None,
    problem: str = "",
    status: int = 200,
) -> HttpResponse:
    """The page; what was said to the customers stays as long as only the note is wrong."""
    if form is not None and not now - ANSWER_WITHIN <= form.cleaned_data["asked_at"] <= now:
        form, problem = None, problem or _t("Look at the times anew.")
    asked_at = form.cleaned_data["asked_at"] if form else now
    try:
        found = _found(quote, day, asked_at)
    except Refused as refused:
        found, problem = None, problem or str(refused)
    if form is None and found is not None:
        said = {"asked_at": now.isoformat(), "key": found.key, "earliest": day or ""}
        form = ConsentForm(initial=said)
    context = {
        "quote": quote,
        "found": found,
        "form": form,
        "problem": problem,
        "hours": _HOURS,
        "now": now,
    }
    return page(request, "quote/if_moved.html", context, status=status)


def _found(quote: Quote, day: date | None, now: datetime) -> OfferIfMoved | None:
    return offer_if_moved(
        shop=quote.shop,
        operations=operations_of_quote(quote),
        earliest=first_moment(quote.shop, day, now),
        now=now,
    )
