"""Bay calendar: a day or a week of bays, crew and lamps, with what is at risk."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, tzinfo

from django.utils import formats

from scheduling.web.ribbons import Picture, percent
from scheduling.web.timeaxis import Day

# A narrower day has no room for the month.
WIDE_DAY_PERCENT = 8


@dataclass(frozen=True)
class TickShown:
    """An hour mark."""

    x: str
    label: str


@dataclass(frozen=True)
class DayShown:
    """A day's heading and its closed hours, across in percent."""

    x: str
    width: str
    label: str
    today: bool
    closed: bool
    before: str
    shut_x: str
    after: str
    ticks: tuple[TickShown, ...]


@dataclass(frozen=True)
class Page:
    picture: Picture
    days: tuple[DayShown, ...]


def page_of(picture: Picture, tz: tzinfo, now: datetime) -> Page:
    return Page(picture, tuple(_day_shown(day, tz, now) for day in picture.axis.days))


def _day_shown(day: Day, tz: tzinfo, now: datetime) -> DayShown:
    shut = (day.open_x or day.x) + day.open_width
    return DayShown(
        x=percent(day.x),
        width=percent(day.width),
        label=formats.date_format(day.day, "D j M" if day.width >= WIDE_DAY_PERCENT else "D j"),
        today=day.day == now.astimezone(tz).date(),
        closed=day.open_x is None,
        before=percent((day.open_x or day.x) - day.x),
        shut_x=percent(shut),
        after=percent(day.x + day.width - shut),
        ticks=tuple(
            TickShown(percent(t.x), formats.date_format(t.at.astimezone(tz), "G"))
            for t in day.ticks
        ),
    )
