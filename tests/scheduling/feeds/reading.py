"""A feed as a calendar program sees it, read with the reference library."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from icalendar import Calendar

from scheduling.models import Resource
from scheduling.services.feeds import feed_text, resource_feed_open
from shop.models import Member


def open_feed(resource: Resource, member: Member, now: datetime) -> str:
    return resource_feed_open(resource=resource, member=member, now=now)


def read(token: str, now: datetime) -> list[dict[str, Any]]:
    """Return the entries in order of time."""
    found = feed_text(token=token, now=now)
    assert found is not None
    events = Calendar.from_ical(found.body).walk("VEVENT")
    return [
        {
            "uid": str(event["UID"]),
            "sequence": int(event.decoded("SEQUENCE")),
            "status": str(event["STATUS"]),
            "start": event.decoded("DTSTART"),
            "end": event.decoded("DTEND"),
            "summary": str(event["SUMMARY"]),
            "place": str(event.get("LOCATION", "")),
            "modified": event.decoded("LAST-MODIFIED"),
            "stamp": event.decoded("DTSTAMP"),
        }
        for event in events
    ]
