"""Customers: the list with its search, one customer, adding and changing."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Final

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from shop.access import DESK, MemberRequest, member_required
from shop.models import Channel, ConsentPurpose, Customer
from shop.refusals import Refused
from shop.selectors import customers_search
from shop.services.customers import consent_set, customer_add, customer_change
from shop.web.forms import CustomerForm
from shop.web.pages import add_refusal, page

SHOWN: Final = 30


@member_required(DESK)
def customers(request: MemberRequest) -> HttpResponse:
    """The latest customers, or those that fit what was typed."""
    shop = request.member.shop
    text = request.GET.get("q", "").strip()
    if text:
        found = customers_search(shop, text, limit=SHOWN)
    else:
        latest = Customer.objects.of(shop).order_by("-created_at", "-pk")
        found = list(latest.prefetch_related("vehicles")[:SHOWN])
    context = {"found": found, "q": text, "shown": SHOWN, "now": timezone.now()}
    return page(request, "customers/customers.html", context)


@member_required(DESK)
@require_http_methods(["GET", "POST"])
def customer_new(request: MemberRequest) -> HttpResponse:
    """Add a customer."""
    form = CustomerForm(request.POST or None, initial={"name": request.GET.get("name", "")})
    if request.method == "POST" and form.is_valid():
        try:
            made = customer_add(shop=request.member.shop, **form.cleaned_data)
        except Refused as refused:
            add_refusal(form, refused)
        else:
            messages.success(request, _("%s added.") % made.name)
            return redirect("vehicle_new", made.pk)
    return _form_page(request, form, None)


@member_required(DESK)
def customer(request: MemberRequest, customer_id: int) -> HttpResponse:
    """One customer: how to reach them, their vehicles, what they allow, their jobs."""
    found = _found(request, customer_id)
    said = {(row.channel, row.purpose): row for row in found.consents.all()}
    consents = [
        (
            purpose.label,
            [(f"{channel}-{purpose}", channel.label, said.get((channel, purpose)))
             for channel in Channel],
        )
        for purpose in ConsentPurpose
    ]  # fmt: skip
    context = {
        "customer": found,
        "vehicles": found.vehicles.all(),
        "consents": consents,
        "jobs": found.jobs.select_related("vehicle")[:20],
        "now": timezone.now(),
    }
    return page(request, "customers/customer.html", context)


@member_required(DESK)
@require_http_methods(["GET", "POST"])
def customer_edit(request: MemberRequest, customer_id: int) -> HttpResponse:
    """Change what is known about a customer."""
    found = _found(request, customer_id)
    form = CustomerForm.of(found, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            customer_change(customer=found, **form.cleaned_data)
        except Refused as refused:
            add_refusal(form, refused)
        else:
            messages.success(request, _("Saved."))
            return redirect("customer", found.pk)
    return _form_page(request, form, found)


@member_required(DESK)
@require_POST
def customer_consent(request: MemberRequest, customer_id: int) -> HttpResponse:
    """Write down what a customer allows us to send, where it differs from before."""
    found = _found(request, customer_id)
    source = request.POST.get("source", "").strip()
    try:
        _consents_save(found, request.POST, source, timezone.now())
    except Refused as refused:
        for problem in refused.problems:
            messages.error(request, problem.message)
    else:
        messages.success(request, _("Consent written down."))
    return redirect("customer", found.pk)


@transaction.atomic
def _consents_save(found: Customer, ticked: Any, source: str, now: datetime) -> None:
    said = {(row.channel, row.purpose): row.granted for row in found.consents.all()}
    for channel in Channel:
        for purpose in ConsentPurpose:
            granted = f"{channel}-{purpose}" in ticked
            # An empty box that was never asked about is not a "no".
            if said.get((channel, purpose), False) != granted:
                consent_set(
                    customer=found,
                    channel=channel,
                    purpose=purpose,
                    granted=granted,
                    source=source,
                    now=now,
                )


def _found(request: MemberRequest, pk: int) -> Customer:
    rows = Customer.objects.of(request.member.shop).select_related("shop")
    return get_object_or_404(rows.prefetch_related("vehicles", "consents"), pk=pk)


def _form_page(request: MemberRequest, form: CustomerForm, found: Customer | None) -> HttpResponse:
    context: dict[str, Any] = {"form": form, "customer": found, "now": timezone.now()}
    status = 400 if form.errors else 200
    return page(request, "customers/customer_form.html", context, status=status)
