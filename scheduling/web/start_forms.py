"""Forms of the set-up of a new shop."""

from __future__ import annotations

import zoneinfo
from datetime import time
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from scheduling.models import Skill
from shop.models import FilmUnit, Role

_HUNDRED = Decimal(100)
DAYS = (
    (0, _("Monday")), (1, _("Tuesday")), (2, _("Wednesday")), (3, _("Thursday")),
    (4, _("Friday")), (5, _("Saturday")), (6, _("Sunday")),
)  # fmt: skip


class PercentField(forms.DecimalField):
    """A share, asked for in percent."""

    def __init__(self, **options: Any) -> None:
        super().__init__(min_value=0, max_value=100, max_digits=6, decimal_places=3, **options)
        self.widget.attrs |= {"inputmode": "decimal", "step": "any"}

    def clean(self, value: Any) -> Any:
        percent = super().clean(value)
        return None if percent is None else percent / _HUNDRED


def _money(label: Any, help_text: Any, initial: str) -> forms.DecimalField:
    widget = forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"})
    return forms.DecimalField(
        label=label, help_text=help_text, initial=initial, min_value=0, max_digits=9,
        decimal_places=2, widget=widget,
    )  # fmt: skip


class ShopStartForm(forms.Form):
    """The shop and its owner. Figures shown are examples: put in your own."""

    name = forms.CharField(label=_("Name of the shop"), max_length=120)
    country = forms.RegexField(
        r"^[A-Z]{2}$", label=_("Country"), initial="US", help_text=_("Two letters, such as US.")
    )
    zone = forms.ChoiceField(label=_("Time zone"), initial="America/Chicago")
    currency = forms.RegexField(
        r"^[A-Z]{3}$", label=_("Currency"), initial="USD", help_text=_("Three letters.")
    )
    film_unit = forms.ChoiceField(label=_("Gauge shows"), choices=FilmUnit.choices)
    phone = forms.CharField(label=_("Phone"), required=False, max_length=40)
    email = forms.EmailField(label=_("E-mail"), required=False)
    labour_rate = _money(_("One hour of work costs you"), _("Wages with all on top."), "42")
    bay_rate = _money(_("One hour of a bay costs you"), _("Rent, light, heat."), "9")
    overhead_rate = PercentField(label=_("Overhead, % of labour"), initial="30")
    tax_rate = PercentField(label=_("Sales tax, %"), initial="0")
    target_margin = PercentField(label=_("Margin you want, % of the price"), initial="40")
    floor_margin = PercentField(label=_("Margin never to go below, %"), initial="25")
    owner = forms.CharField(label=_("Your name"), max_length=80)
    username = forms.CharField(label=_("Name to sign in with"), max_length=150)
    password = forms.CharField(
        label=_("Password"), widget=forms.PasswordInput(attrs={"autocomplete": "new-password"})
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        zones = sorted(zoneinfo.available_timezones())
        field = self.fields["zone"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(zone, zone) for zone in zones]


class OpeningForm(forms.Form):
    """When the shop is open."""

    weekdays = forms.TypedMultipleChoiceField(
        label=_("Open on"), choices=DAYS, coerce=int, initial=[0, 1, 2, 3, 4],
        widget=forms.CheckboxSelectMultiple,
    )  # fmt: skip
    opens = forms.TimeField(
        label=_("From"),
        initial=time(8),
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
    )
    closes = forms.TimeField(
        label=_("Until"), initial=time(17),
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
    )  # fmt: skip


class PlacesForm(forms.Form):
    """How many places of each kind."""

    wash = forms.IntegerField(label=_("Wash bays"), min_value=0, max_value=60, initial=1)
    correction = forms.IntegerField(
        label=_("Correction bays"), min_value=0, max_value=60, initial=1
    )
    coating = forms.IntegerField(label=_("Coating bays"), min_value=0, max_value=60, initial=1)
    anything = forms.IntegerField(
        label=_("Bays for all of it"), min_value=0, max_value=60, initial=0
    )
    parking = forms.IntegerField(label=_("Parking spots"), min_value=0, max_value=60, initial=3)
    lamps = forms.IntegerField(label=_("Curing lamps"), min_value=0, max_value=60, initial=0)


class CrewForm(forms.Form):
    """One person."""

    name = forms.CharField(label=_("Name"), max_length=80)
    role = forms.ChoiceField(label=_("Role"), choices=Role.choices, initial=Role.TECHNICIAN)
    skills = forms.MultipleChoiceField(
        label=_("Trained for"), choices=Skill.choices, required=False,
        widget=forms.CheckboxSelectMultiple,
    )  # fmt: skip
    username = forms.CharField(label=_("Name to sign in with"), max_length=150)
    password = forms.CharField(
        label=_("First password"),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )


class OwnSkillsForm(forms.Form):
    """The owner works on vehicles too."""

    skills = forms.MultipleChoiceField(
        label=_("I am trained for"), choices=Skill.choices, widget=forms.CheckboxSelectMultiple
    )


class FileForm(forms.Form):
    """A catalogue (JSON) or a table of the shelf (CSV)."""

    file = forms.FileField(label=_("File"))
