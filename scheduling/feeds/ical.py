"""A feed as iCalendar text (RFC 5545, with NAME and REFRESH-INTERVAL of RFC 7986)."""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterable
from datetime import UTC, timedelta
from typing import Final

from icalendar import Calendar, Event, vDuration

from scheduling.models import FeedEntry

REFRESH: Final = timedelta(minutes=15)
"""How often a calendar program should look again."""
_CONTROLS: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
"""What RFC 5545 (3.3.11, TSAFE-CHAR) has no room for; tab and line ends stay."""


def calendar_text(name: str, namespace: uuid.UUID, entries: Iterable[FeedEntry]) -> bytes:
    """Return the calendar as UTF-8, lines folded at 75 octets.

    The same entries give the same bytes: nothing in it is the time of reading, so its
    digest serves as ETag.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//Halfmil//Calendar feed 1//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    for key in ("name", "x-wr-calname"):
        calendar.add(key, _text(name))
    calendar.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    # A name of no standard is written as it stands: its value has to be text already.
    calendar.add("x-published-ttl", vDuration(REFRESH).to_ical().decode("ascii"))
    for entry in entries:
        calendar.add_component(_event(namespace, entry))
    return calendar.to_ical()


def _event(namespace: uuid.UUID, entry: FeedEntry) -> Event:
    event = Event()
    event.add("uid", str(uuid.uuid5(namespace, entry.key)))
    # Without a METHOD this is when the entry was last revised (3.8.7.2).
    event.add("dtstamp", entry.changed_at.astimezone(UTC))
    event.add("last-modified", entry.changed_at.astimezone(UTC))
    event.add("sequence", entry.sequence)
    event.add("status", "CANCELLED" if entry.cancelled else "CONFIRMED")
    event.add("dtstart", entry.start.astimezone(UTC))
    event.add("dtend", entry.end.astimezone(UTC))
    event.add("summary", _text(entry.summary))
    for key, value in (("location", entry.place), ("description", entry.description)):
        if value:
            event.add(key, _text(value))
    return event


def _text(value: str) -> str:
    lines = value.replace("\r\n", "\n").replace("\r", "\n")
    return _CONTROLS.sub("", lines)
