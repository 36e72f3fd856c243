"""Reads of the calendar, the floor, a job's story and the messages.

Each has a fixed number of queries, however much there is to read.
"""

from scheduling.selectors.calendar import Calendar, calendar_week
from scheduling.selectors.floor import Floor, climate_latest, floor_today
from scheduling.selectors.plans import plan_open
from scheduling.selectors.reminders import reminders_count, reminders_list
from scheduling.selectors.story import JobStory, job_story

__all__ = [
    "Calendar",
    "Floor",
    "JobStory",
    "calendar_week",
    "climate_latest",
    "floor_today",
    "job_story",
    "plan_open",
    "reminders_count",
    "reminders_list",
]
