"""The fields of the quote desk, and what they say in the words of the services."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date, datetime, time
from decimal import Decimal
from hashlib import sha256
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.datastructures import MultiValueDict
from django.utils.translation import gettext as _t
from django.utils.translation import gettext_lazy as _

from estimating.core.catalogue import Catalogue
from estimating.core.options import STANDARD_WASH, Options
from estimating.models import Inspection, Quote
from scheduling.services.calls import Caller, Wish
from shop.callers import typed_apart
from shop.models import Customer, Shop, Vehicle
from shop.models.vehicles import Body, Hardness
from shop.months import first_of_month

# The catalogue's questions, and the field of a vehicle that keeps each answer.
ANSWERS = {
    "storage": "storage",
    "wash_habit": "wash_habit",
    "colour": "tone",
    "previous_correction": "previous_correction",
}
_MOST_YEARS = 60
_PHONE = "phone"


class DeskForm(forms.Form):
    """Everything that is said in one call. Nothing is required until something is done."""

    q = forms.CharField(label=_("Name, phone or plate"), required=False, max_length=100)
    vehicle = forms.IntegerField(required=False, widget=forms.HiddenInput)
    customer = forms.IntegerField(required=False, widget=forms.HiddenInput)
    replaces = forms.IntegerField(required=False, widget=forms.HiddenInput)
    call = forms.UUIDField(required=False, widget=forms.HiddenInput)
    turn = forms.IntegerField(required=False, widget=forms.HiddenInput)
    page = forms.CharField(required=False, max_length=36)
    looked = forms.CharField(required=False, max_length=64)

    name = forms.CharField(label=_("Name"), required=False, max_length=120)
    phone = forms.CharField(
        label=_("Phone"), required=False, max_length=40, widget=forms.TextInput({"type": "tel"})
    )
    email = forms.EmailField(label=_("E-mail"), required=False)
    description = forms.CharField(label=_("Vehicle"), required=False, max_length=120)
    plate = forms.CharField(label=_("Plate"), required=False, max_length=16)
    body = forms.ChoiceField(label=_("Body"), choices=Body.choices, required=False)
    age_years = forms.DecimalField(
        label=_("Age in years"),
        required=False,
        min_value=0,
        max_value=_MOST_YEARS,
        widget=forms.NumberInput({"placeholder": _("as new")}),
    )
    hardness = forms.ChoiceField(label=_("Paint"), choices=Hardness.choices, required=False)

    basis = forms.ChoiceField(label=_("What it rests on"), required=False)
    aim = forms.ChoiceField(
        label=_("Aim"),
        choices=[
            ("cleared", _("Clear a share")),
            ("cap", _("Keep under a price")),
            ("best", _("All the film allows")),
        ],
        required=False,
        widget=forms.RadioSelect,
    )
    cleared = forms.DecimalField(
        label=_("Share of defects cleared, %"), required=False, min_value=0, max_value=100
    )
    cap = forms.DecimalField(label=_("Not above"), required=False, min_value=0, decimal_places=2)
    wash = forms.ChoiceField(label=_("Prep wash"), required=False)
    coating = forms.ChoiceField(label=_("Coating"), required=False, widget=forms.RadioSelect)
    add_ons = forms.MultipleChoiceField(
        label=_("Add-ons"), required=False, widget=forms.CheckboxSelectMultiple
    )

    earliest = forms.DateField(
        label=_("Not before"),
        required=False,
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
    )
    slot = forms.CharField(required=False, max_length=40)
    price = forms.DecimalField(
        label=_("Another price, before tax"), required=False, min_value=0, decimal_places=3
    )
    discount = forms.DecimalField(
        label=_("Discount, %"),
        required=False,
        min_value=0,
        max_value=Decimal("99.9"),
        decimal_places=1,
    )
    reason = forms.CharField(label=_("Reason"), required=False, max_length=300)

    def __init__(self, data: Any, catalogue: Catalogue, inspections: list[Inspection]) -> None:
        super().__init__(data, auto_id="f-%s")
        self._choose(
            "wash",
            [
                (STANDARD_WASH, _t("By the vehicle's size")),
                *((row.code, row.name) for row in catalogue.wash_sizes),
                ("none", _t("No wash")),
            ],
        )
        self._choose(
            "coating",
            [
                ("", _t("None")),
                *((row.code, row.name) for row in catalogue.coating_systems),
            ],
        )
        self._choose("add_ons", [(row.code, row.name) for row in catalogue.add_ons])
        self._choose(
            "basis",
            [
                (_PHONE, _t("What the caller says")),
                *((str(row.pk), str(row.taken_at)) for row in inspections),
            ],
        )
        self.inspections = {str(row.pk): row for row in inspections}
        for question in sorted(catalogue.prior_questions, key=lambda row: row.order):
            answers = [row for row in catalogue.prior_answers if row.question == question.code]
            self.fields[question.code] = forms.ChoiceField(
                label=question.text,
                choices=[*((row.code, row.name) for row in answers), ("", _t("not asked"))],
                required=False,
                widget=forms.RadioSelect,
            )
        self.questions = [row.code for row in catalogue.prior_questions]

    def _choose(self, name: str, choices: list[tuple[str, Any]]) -> None:
        """Give a field the choices of this shop."""
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = choices

    def said(self, name: str) -> Any:
        """The cleaned value, or None where it was refused or left empty."""
        value = self.cleaned_data.get(name)
        return None if value == "" else value

    def goal(self) -> dict[str, Any]:
        """The goal in the form of the document."""
        aim = self.said("aim")
        if aim == "best":
            return {"safest_best": True}
        if aim == "cap" and self.said("cap") is not None:
            return {"price_cap": float(self.said("cap"))}
        cleared = self.said("cleared")
        return {"cleared": float((cleared if cleared is not None else Decimal(60)) / 100)}

    def options(self) -> Options:
        """Wash, coating and add-ons."""
        wash = self.said("wash") or STANDARD_WASH
        return Options(
            wash=None if wash == "none" else wash,
            coating=self.said("coating"),
            add_ons=tuple(self.said("add_ons") or ()),
        )

    def inspection(self) -> Inspection | None:
        """The inspection the quote rests on, if any."""
        return self.inspections.get(self.said("basis") or _PHONE)

    def age_months(self) -> int:
        """Age in months; a vehicle whose age nobody told is taken as new."""
        years = self.said("age_years")
        return round(years * 12) if years is not None else 0

    def answers(self) -> dict[str, str]:
        """Answers that were given, by question."""
        return {name: self.said(name) for name in self.questions if self.said(name)}

    def vehicle_part(self) -> dict[str, Any]:
        """The ``vehicle`` of a phone document."""
        return {
            "body": self.said("body") or Body.SEDAN.value,
            "age_months": self.age_months(),
            "paint": {"hardness": self.said("hardness") or Hardness.MEDIUM.value},
            **self.answers(),
        }

    def caller(self, vehicle: Vehicle | None, customer: Customer | None, today: date) -> Caller:
        """Who calls about what, for the services."""
        told: dict[str, Any] = {
            ANSWERS[question]: answer
            for question, answer in self.answers().items()
            if question in ANSWERS
        }
        told["hardness"] = self.said("hardness") or Hardness.MEDIUM.value
        if self.said("age_years") is not None:
            told["first_used_on"] = first_of_month(today, self.age_months())
        if vehicle is not None:
            return Caller(vehicle=vehicle, answers=_changed(vehicle, told, today))
        return Caller(
            customer=customer,
            person=self._person(),
            facts={
                "description": self.said("description") or "",
                "body": self.said("body") or Body.SEDAN.value,
                "plate": self.said("plate") or "",
                **told,
            },
        )

    def _person(self) -> dict[str, str]:
        """Who calls; what was only typed into the search box serves as name or phone."""
        person = {name: self.said(name) or "" for name in ("name", "phone", "email")}
        typed = typed_apart(self.said("q") or "")
        return {name: told or getattr(typed, name) for name, told in person.items()}

    def wish(self, replaces: Quote | None) -> Wish:
        """What is wanted, for the services; perhaps as the next version of a quote."""
        return Wish(
            goal=self.goal(),
            options=self.options(),
            inspection=self.inspection(),
            price=self.said("price"),
            reason=self.said("reason") or "",
            replaces=replaces,
            discount_share=self.discount_share(),
        )

    def discount_share(self) -> Decimal | None:
        """What is taken off, as a share; None for nothing."""
        discount = self.said("discount")
        return discount / 100 if discount else None

    def wanted(self) -> str:
        """A digest of what a quote would be made of: the same for the same offer."""
        facts = ("body", "age_years", "hardness", "vehicle", *self.questions)
        work = ("basis", "aim", "cleared", "cap", "wash", "coating", "add_ons")
        said = {name: self.said(name) for name in (*facts, *work, "price", "discount")}
        plain = {
            name: f"{value.normalize():f}" if isinstance(value, Decimal) else value or None
            for name, value in said.items()
        }
        return sha256(json.dumps(plain, sort_keys=True).encode()).hexdigest()

    def not_before(self, shop: Shop, now: datetime) -> datetime:
        """The first moment at which the vehicle could come."""
        day = self.said("earliest")
        if day is None:
            return now
        return max(now, datetime.combine(day, time(), shop.tz))


def _changed(vehicle: Vehicle, told: Mapping[str, Any], today: date) -> dict[str, Any]:
    """What a caller said that differs from what is known about a vehicle."""
    changed = {name: value for name, value in told.items() if getattr(vehicle, name) != value}
    first = changed.get("first_used_on")
    # The age on the form is rounded: a date that gives the same age stays as it is.
    if first is not None and vehicle.first_used_on is not None:
        apart = abs((vehicle.first_used_on - first).days)
        if apart < 45:
            del changed["first_used_on"]
    return changed


def start_values(vehicle: Vehicle | None, inspections: list[Inspection], today: date) -> Any:
    """What stands in the fields before anything is said."""
    data: MultiValueDict[str, Any] = MultiValueDict()
    start = {
        "aim": "cleared",
        "cleared": "60",
        "wash": STANDARD_WASH,
        "coating": "",
        "basis": str(inspections[0].pk) if inspections else _PHONE,
        "body": Body.SEDAN.value,
        "hardness": Hardness.MEDIUM.value,
    }
    if vehicle is not None:
        start |= {"vehicle": str(vehicle.pk), "body": vehicle.body, "hardness": vehicle.hardness}
        start |= {name: getattr(vehicle, column) for name, column in ANSWERS.items()}
        months = vehicle.age_months(today)
        if months is not None:
            start["age_years"] = f"{months / 12:.1f}".removesuffix(".0")
    for name, value in start.items():
        data[name] = value
    return data


def filled(start: Any, given: QueryDict) -> Any:
    """Start values with what was typed or linked over them."""
    data = start.copy()
    for name in given:
        data.setlist(name, given.getlist(name))
    return data
