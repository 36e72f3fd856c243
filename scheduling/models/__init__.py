"""Records of the calendar: resources, holds, cures, reminders."""

from scheduling.models.calls import CallDraft, CallState
from scheduling.models.changes import CalendarChange
from scheduling.models.feeds import CalendarFeed, FeedEntry, FeedKind
from scheduling.models.holds import ClimateReading, Cure, Hold, HoldPurpose, LampRun
from scheduling.models.kept import KeptSlot
from scheduling.models.planruns import PlanRun, PlanRunKind, PlanRunState
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
    "CalendarChange",
    "CalendarFeed",
    "CalendarPolicy",
    "CallDraft",
    "CallState",
    "Capability",
    "ClimateReading",
    "Cure",
    "FeedEntry",
    "FeedKind",
    "Hold",
    "HoldPurpose",
    "KeptSlot",
    "LampRun",
    "MessageTemplate",
    "PlanRun",
    "PlanRunKind",
    "PlanRunState",
    "Reminder",
    "ReminderPurpose",
    "ReminderState",
    "Resource",
    "ResourceKind",
    "Shift",
    "Skill",
]
