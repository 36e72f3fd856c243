"""Which calendars of a shop may have an address, and which have one."""

from __future__ import annotations

from typing import NamedTuple

from scheduling.models import CalendarFeed, Resource, ResourceKind
from shop.models import Member, Role


class FeedRow(NamedTuple):
    """A bay or technician, and its feed where there is an address now."""

    resource: Resource
    feed: CalendarFeed | None


def feeds_of(member: Member) -> list[FeedRow]:
    """Return what ``member`` may make addresses for, in two queries."""
    rows = Resource.objects.of(member.shop).filter(
        active=True, kind__in=[ResourceKind.BAY, ResourceKind.TECHNICIAN]
    )
    if member.role != Role.OWNER:
        rows = rows.filter(member=member)
    found = CalendarFeed.objects.of(member.shop).filter(resource__in=rows, token_hash__isnull=False)
    feeds = {feed.resource_id: feed for feed in found.select_related("made_by")}
    return [FeedRow(row, feeds.get(row.pk)) for row in rows]
