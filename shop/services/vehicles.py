"""Vehicles: what they are, and a VIN that is right or has a reason to stand."""

from __future__ import annotations

from datetime import date
from typing import TypedDict, Unpack

from django.utils.translation import gettext as _

from shop.models import Customer, Vehicle
from shop.refusals import Problem, Refused
from shop.services.checked import row_save
from shop.vin import vin_check


class VehicleFacts(TypedDict, total=False):
    """What may be said about a vehicle.

    ``vin_reason`` lets a VIN stand whose check digit does not hold.
    """

    description: str
    body: str
    colour: str
    plate: str
    vin: str
    vin_reason: str
    first_used_on: date | None
    tone: str
    hardness: str
    storage: str
    wash_habit: str
    previous_correction: str
    paint_notes: str


def vehicle_add(*, customer: Customer, **facts: Unpack[VehicleFacts]) -> Vehicle:
    """Write a new vehicle of a customer down.

    Raises
    ------
    Refused
        By field: no description, an unknown body, a VIN that is malformed, whose
        check digit is wrong without a reason, or which the shop has already.
    """
    return _saved(Vehicle(shop=customer.shop, customer=customer), facts)


def vehicle_change(
    *, vehicle: Vehicle, customer: Customer | None = None, **facts: Unpack[VehicleFacts]
) -> Vehicle:
    """Change what is known about a vehicle; what is not given stays.

    Parameters
    ----------
    customer
        Its new owner. Past quotes and jobs keep the one they were made for.

    Raises
    ------
    Refused
        As for :func:`vehicle_add`, or the new owner is another shop's customer;
        ``vehicle`` is then as it was.
    """
    vehicle = Vehicle.objects.select_related("shop", "customer").get(pk=vehicle.pk)
    if customer is not None:
        if customer.shop_id != vehicle.shop_id:
            raise Refused(Problem(_("This customer belongs to another shop."), "customer"))
        vehicle.customer = customer
    return _saved(vehicle, facts)


def _saved(vehicle: Vehicle, facts: VehicleFacts) -> Vehicle:
    for name, value in facts.items():
        setattr(vehicle, name, value.strip() if isinstance(value, str) else value)
    vehicle.plate = " ".join(vehicle.plate.upper().split())
    if not vehicle.vin or vin_check(vehicle.vin).check_digit_holds:
        # A reason beside a number that needs none would mislead the next reader.
        vehicle.vin_reason = ""
    vehicle.vin = vin_check(vehicle.vin).vin if vehicle.vin else ""
    row_save(vehicle)
    return vehicle
