"""Forms of the job page, the floor and the reminders: one for each thing a person does."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from scheduling.models import Resource, ResourceKind
from shop.models import Consumable, PaymentMethod, Shop


class ShopTimeField(forms.DateTimeField):
    """Date and time by the shop's clock, given as an aware instant."""

    widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")
    zone = "UTC"

    def __init__(self, **kwargs: Any) -> None:
        # What the browser's own control sends, with and without seconds.
        super().__init__(input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S"], **kwargs)

    def to_python(self, value: Any) -> datetime | None:
        with timezone.override(self.zone):
            return super().to_python(value)

    def prepare_value(self, value: Any) -> Any:
        with timezone.override(self.zone):
            return super().prepare_value(value)


class FreeFromForm(forms.Form):
    """From when on to look for free time."""

    earliest = ShopTimeField(label=_("Free from"))

    def __init__(self, *args: Any, shop: Shop, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["earliest"]
        assert isinstance(field, ShopTimeField)
        field.zone = shop.zone


class MoveForm(FreeFromForm):
    """The drop-off that was chosen, and why the booking moves."""

    why = forms.CharField(
        label=_("Why it moves"), max_length=300, help_text=_("Stands in the vehicle's story.")
    )


class AbsenceForm(forms.Form):
    """Who or what is not there, from when to when, and why."""

    resource = forms.ModelChoiceField(
        queryset=Resource.objects.none(), label=_("Who or what"), empty_label=_("Choose")
    )
    start = ShopTimeField(label=_("Away from"))
    end = ShopTimeField(label=_("Back at"))
    reason = forms.CharField(label=_("Why, for everybody to see"), max_length=120)

    def __init__(self, *args: Any, shop: Shop, **kwargs: Any) -> None:
        super().__init__(*args, **{"auto_id": "away-%s", **kwargs})
        units = Resource.objects.of(shop).filter(active=True).order_by("kind", "position", "pk")
        field = self.fields["resource"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = units
        for name in ("start", "end"):
            moment = self.fields[name]
            assert isinstance(moment, ShopTimeField)
            moment.zone = shop.zone

    def offer(self, units: Iterable[Resource]) -> None:
        """Offer what was read already, so that the choice asks the database nothing."""
        field = self.fields["resource"]
        assert isinstance(field, forms.ModelChoiceField)
        kinds: dict[str, list[tuple[int, str]]] = {}
        for unit in units:
            kinds.setdefault(unit.get_kind_display(), []).append((unit.pk, unit.name))
        field.choices = [("", field.empty_label), *kinds.items()]


class PutForm(forms.Form):
    """A visit moved by hand: where it was seen and dropped, what was shown, why it moves."""

    at = forms.DateTimeField()
    bay = forms.ModelChoiceField(queryset=Resource.objects.none(), required=False)
    seen = forms.DateTimeField()
    arrives = forms.DateTimeField()
    promised = forms.DateTimeField()
    why = forms.CharField(max_length=300, required=False)

    def __init__(self, *args: Any, shop: Shop, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["bay"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = Resource.objects.of(shop).filter(kind=ResourceKind.BAY, active=True)


class TryForm(PutForm):
    """Where a visit is being dragged."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("seen", "arrives", "promised", "why"):
            del self.fields[name]


class CancelForm(forms.Form):
    """Why a booking is cancelled."""

    why = forms.CharField(label=_("Why it is cancelled"), max_length=300)


class HandOverForm(forms.Form):
    """A reason, needed only where the cure is not far enough."""

    reason = forms.CharField(
        label=_("Owner's reason"),
        max_length=300,
        required=False,
        help_text=_("Only needed before the cure allows it."),
    )


class ItemField(forms.ModelChoiceField):
    """A choice of things on the shelf, each with its unit."""

    def label_from_instance(self, obj: Any) -> str:
        return f"{obj.name} ({obj.unit})"


class MaterialForm(forms.Form):
    """Something taken from the shelf for a job."""

    consumable = ItemField(
        queryset=Consumable.objects.none(), label=_("Item"), empty_label=_("Choose an item")
    )
    quantity = forms.DecimalField(
        label=_("Quantity"), max_digits=12, decimal_places=4, min_value=Decimal("0.0001")
    )

    def __init__(self, *args: Any, shop: Shop, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        items = Consumable.objects.of(shop).filter(active=True)
        field = self.fields["consumable"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = items
        self.fields["quantity"].widget.attrs |= {"inputmode": "decimal", "step": "any"}


class ClimateForm(forms.Form):
    """Air and panel of one bay, as read just now."""

    air_c = forms.FloatField(label=_("Air, °C"), min_value=-40, max_value=60)
    humidity_percent = forms.FloatField(label=_("Humidity, %"), min_value=1, max_value=100)
    surface_c = forms.FloatField(label=_("Panel, °C"), min_value=-40, max_value=90, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.widget.attrs |= {"inputmode": "decimal", "step": "any"}


class StopForm(forms.Form):
    """Why a message is not to be sent."""

    why = forms.CharField(label=_("Why it is stopped"), max_length=200)


class PaymentForm(forms.Form):
    """Money taken for a job, or given back."""

    amount = forms.DecimalField(
        label=_("Amount"), max_digits=12, decimal_places=3, help_text=_("Below zero: given back.")
    )
    method = forms.ChoiceField(label=_("How"), choices=PaymentMethod)
    note = forms.CharField(label=_("Note"), max_length=120, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["amount"].widget.attrs |= {"inputmode": "decimal", "step": "any"}
