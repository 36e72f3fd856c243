"""Adding and changing vehicles. Their history is shown by the estimating room."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from shop.access import DESK, MemberRequest, member_required
from shop.models import Customer, Vehicle
from shop.refusals import Refused
from shop.services.vehicles import vehicle_add, vehicle_change
from shop.web.forms import VehicleForm
from shop.web.pages import add_refusal, page


@member_required(DESK)
@require_http_methods(["GET", "POST"])
def vehicle_new(request: MemberRequest, customer_id: int) -> HttpResponse:
    """Add a vehicle of a customer."""
    owners = Customer.objects.of(request.member.shop).select_related("shop")
    customer = get_object_or_404(owners, pk=customer_id)
    form = VehicleForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            made = vehicle_add(customer=customer, **form.cleaned_data)
        except Refused as refused:
            add_refusal(form, refused)
        else:
            messages.success(request, _("%s added.") % made.description)
            return redirect("vehicle", made.pk)
    return _form_page(request, form, customer, None)


@member_required(DESK)
@require_http_methods(["GET", "POST"])
def vehicle_edit(request: MemberRequest, vehicle_id: int) -> HttpResponse:
    """Change what is known about a vehicle."""
    rows = Vehicle.objects.of(request.member.shop).select_related("customer")
    vehicle = get_object_or_404(rows, pk=vehicle_id)
    form = VehicleForm.of(vehicle, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            vehicle_change(vehicle=vehicle, **form.cleaned_data)
        except Refused as refused:
            add_refusal(form, refused)
        else:
            messages.success(request, _("Saved."))
            return redirect("vehicle", vehicle.pk)
    return _form_page(request, form, vehicle.customer, vehicle)


def _form_page(
    request: MemberRequest, form: VehicleForm, customer: Customer, vehicle: Vehicle | None
) -> HttpResponse:
    context = {"form": form, "customer": customer, "vehicle": vehicle, "now": timezone.now()}
    status = 400 if form.errors else 200
    return page(request, "customers/vehicle_form.html", context, status=status)
