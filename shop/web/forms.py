"""Forms about customers and vehicles; the services say what is right, forms only ask."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.models import Customer, Vehicle
from shop.models.vehicles import (
    Body,
    Hardness,
    PreviousCorrection,
    Storage,
    Tone,
    WashHabit,
)


def asked(choices: Any) -> list[tuple[str, Any]]:
    """Choices with "not asked" in front."""
    return [("", _("not asked")), *choices.choices]


class CustomerForm(forms.Form):
    """Who somebody is and how to reach them."""

    name = forms.CharField(label=_("Name"), max_length=120)
    phone = forms.CharField(
        label=_("Phone"),
        required=False,
        max_length=40,
        widget=forms.TextInput(attrs={"type": "tel", "autocomplete": "off"}),
    )
    email = forms.EmailField(label=_("E-mail"), required=False)
    notes = forms.CharField(
        label=_("Notes"), required=False, widget=forms.Textarea(attrs={"rows": 3})
    )

    @classmethod
    def of(cls, customer: Customer, data: Any = None) -> CustomerForm:
        """The form with what is known."""
        return cls(data, initial={name: getattr(customer, name) for name in cls.base_fields})


class VehicleForm(forms.Form):
    """What a vehicle is and how it lives."""

    description = forms.CharField(
        label=_("Vehicle"),
        max_length=120,
        help_text=_("As you would point it out: pickup, crew cab, dark blue."),
    )
    body = forms.ChoiceField(label=_("Body"), choices=Body.choices)
    plate = forms.CharField(label=_("Plate"), max_length=16, required=False)
    colour = forms.CharField(label=_("Colour"), max_length=40, required=False)
    first_used_on = forms.DateField(
        label=_("First used"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    vin = forms.CharField(label=_("VIN"), max_length=40, required=False)
    vin_reason = forms.CharField(
        label=_("Why this VIN stands"),
        max_length=160,
        required=False,
        help_text=_("Only where the check digit fails and does not apply."),
    )
    tone = forms.ChoiceField(label=_("Colour is"), choices=asked(Tone), required=False)
    hardness = forms.ChoiceField(label=_("Paint is"), choices=Hardness.choices, initial="medium")
    storage = forms.ChoiceField(label=_("Stands at night"), choices=asked(Storage), required=False)
    wash_habit = forms.ChoiceField(label=_("Is washed"), choices=asked(WashHabit), required=False)
    previous_correction = forms.ChoiceField(
        label=_("Polished before"), choices=asked(PreviousCorrection), required=False
    )
    paint_notes = forms.CharField(
        label=_("Paint notes"), required=False, widget=forms.Textarea(attrs={"rows": 2})
    )

    @classmethod
    def of(cls, vehicle: Vehicle, data: Any = None) -> VehicleForm:
        """The form with what is known."""
        return cls(data, initial={name: getattr(vehicle, name) for name in cls.base_fields})
