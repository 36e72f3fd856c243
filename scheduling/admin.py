"""The administration of resources, messages and the calendar's policy; the rest to look at."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.utils.translation import gettext_lazy as _

from scheduling.models import (
    Absence,
    CalendarPolicy,
    Capability,
    ClimateReading,
    Cure,
    Hold,
    KeptSlot,
    MessageTemplate,
    Reminder,
    Resource,
    Shift,
    Skill,
)
from scheduling.services.wording import Wording, wording_problems
from shop.admin.base import (
    OwnersInline,
    ReadOnlyAdmin,
    ShopForm,
    ShopModelAdmin,
    problem_for,
    words_field,
)
from shop.refusals import Refused


class ResourceForm(ShopForm):
    """A resource with boxes to tick for what it can do."""

    capabilities = words_field(Capability.choices, _("done in it (a bay)"))
    skills = words_field(Skill.choices, _("trained for (a technician)"))

    class Meta:
        model = Resource
        fields = ("shop", "kind", "code", "name", "capabilities", "skills", "member", "position")


class ShiftInline(OwnersInline):
    """When a technician works, breaks cut out; with a price it is overtime."""

    model = Shift


class AbsenceInline(OwnersInline):
    """When a resource is not there."""

    model = Absence


@admin.register(Resource)
class ResourceAdmin(ShopModelAdmin):
    """Bays, people, lamps, parking spots: one row for each single unit."""

    form = ResourceForm
    list_display = ("name", "kind", "code", "capabilities", "skills", "position", "active")
    list_filter = ("kind", "active")
    search_fields = ("name", "code")
    inlines = (ShiftInline, AbsenceInline)


@admin.register(Hold)
class HoldAdmin(ReadOnlyAdmin):
    """Holds; booking, moving and cancelling write them."""

    list_display = ("resource", "job", "purpose", "start", "end")
    list_filter = ("purpose", "resource__kind")
    list_select_related = ("resource", "job__vehicle")
    search_fields = ("job__number", "resource__name")
    date_hierarchy = "start"


@admin.register(KeptSlot)
class KeptSlotAdmin(ReadOnlyAdmin):
    """Visits kept for callers; the desk keeps them and they let go by themselves."""

    list_display = ("arrives_at", "said", "member", "kept_until")
    list_select_related = ("member",)
    date_hierarchy = "kept_until"


@admin.register(Cure)
class CureAdmin(ReadOnlyAdmin):
    """Cures; they follow the climate of their bay."""

    shop_path = "job__shop"
    list_display = ("job", "system_name", "started_at", "forecast_handover_at")
    list_select_related = ("job__vehicle",)
    search_fields = ("job__number", "system_name")


@admin.register(ClimateReading)
class ClimateReadingAdmin(ReadOnlyAdmin):
    """The climate log."""

    list_display = ("resource", "at", "air_c", "humidity_percent", "surface_c")
    list_select_related = ("resource",)
    date_hierarchy = "at"


@admin.register(Reminder)
class ReminderAdmin(ReadOnlyAdmin):
    """Reminders; they are sent or stopped on their own page."""

    list_display = (
        "due_at", "purpose", "channel", "customer", "member", "job", "state", "sent_at"
    )  # fmt: skip
    list_filter = ("state", "purpose", "channel")
    list_select_related = ("customer", "member", "job__vehicle")
    search_fields = ("job__number", "customer__name", "recipient")
    date_hierarchy = "due_at"


class MessageTemplateForm(ShopForm):
    """The owner's wording, refused where a name in braces would stay unfilled."""

    class Meta:
        model = MessageTemplate
        fields = ("shop", "purpose", "channel", "subject", "text")

    def clean(self) -> dict[str, Any] | None:
        cleaned = super().clean()
        if not self.errors:
            data = self.cleaned_data
            wording = Wording(data.get("subject", ""), data["text"])
            problems = wording_problems(wording, data["purpose"], data["channel"])
            if problems:
                problem_for(Refused(*problems), self)
        return cleaned


@admin.register(MessageTemplate)
class MessageTemplateAdmin(ShopModelAdmin):
    """Wordings; where there is none, the house's own holds."""

    may = OwnersInline.may
    form = MessageTemplateForm
    list_display = ("purpose", "channel", "subject")
    list_filter = ("channel",)


@admin.register(CalendarPolicy)
class CalendarPolicyAdmin(ShopModelAdmin):
    """The figures that the calendar and the messages go by."""

    list_display = ("shop", "horizon_days", "day_before_at", "bay_c", "send_tries")
