"""Records of the calendar: resources, holds, cures, reminders."""

from scheduling.models.holds import ClimateReading, Cure, Hold, HoldPurpose
from scheduling.models.policy import CalendarPolicy
from scheduling.models.reminders import (
    MessageTemplate,
    Reminder,
    ReminderPurpose,
    ReminderState,
)
from scheduling.models.resources import (
    Absence,
    Capability,
    Resource,
    ResourceKind,
    Shift,
    Skill,
)

__all__ = [
    "Absence",
    "CalendarPolicy",
    "Capability",
    "ClimateReading",
    "Cure",
    "Hold",
    "HoldPurpose",
    "MessageTemplate",
    "Reminder",
    "ReminderPurpose",
    "ReminderState",
    "Resource",
    "ResourceKind",
    "Shift",
    "Skill",
]
