"""What a feed says now, counted against what it said before.

A feed's entries are brought up to date when it is read. So whatever moved a hold, by
whichever way, is a change for exactly those who have seen the old time.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from django.db import transaction
from django.db.models import Q

from scheduling.feeds.contents import PAST, Contents, Said, Window, feed_contents, feed_window
from scheduling.models import CalendarFeed, FeedEntry

_TEXTS: Final = ("summary", "place", "description")
_WRITTEN: Final = ["start", "end", *_TEXTS, "cancelled", "sequence", "changed_at"]


@dataclass(frozen=True)
class _Changes:
    new: list[FeedEntry]
    changed: list[FeedEntry]


def feed_entries(*, feed: CalendarFeed, now: datetime) -> list[FeedEntry]:
    """Return what the feed shows, in order of time; writes only where something changed."""
    window = feed_window(feed, now)
    contents, rows = _read(feed, window, now)
    changes = _compare(feed, contents, rows, now)
    if changes.new or changes.changed:
        with transaction.atomic():
            # Race: two readers find the same change. The second waits here, looks again
            # and finds it written; otherwise it would be counted twice.
            CalendarFeed.objects.select_for_update().get(pk=feed.pk)
            contents, rows = _read(feed, window, now)
            changes = _compare(feed, contents, rows, now)
            FeedEntry.objects.bulk_create(changes.new)
            FeedEntry.objects.bulk_update(changes.changed, _WRITTEN, batch_size=200)
            rows |= {row.key: row for row in changes.new}
    return _shown(contents, rows, now)


def _read(
    feed: CalendarFeed, window: Window, now: datetime
) -> tuple[Contents, dict[str, FeedEntry]]:
    contents = feed_contents(feed, window)
    rows = FeedEntry.objects.filter(
        Q(end__gt=window.since, cancelled=False)
        | Q(changed_at__gt=now - PAST, cancelled=True)
        # An entry that comes back goes on counting where it stopped.
        | Q(key__in=[one.key for one in contents.entries]),
        feed=feed,
    )
    return contents, {row.key: row for row in rows}


def _compare(
    feed: CalendarFeed, contents: Contents, rows: dict[str, FeedEntry], now: datetime
) -> _Changes:
    """Change the rows to what is true now, and return those that are new or changed."""
    # A calendar knows whole seconds; a revision must not come before the one it replaces.
    at = now.replace(microsecond=0)
    new, changed = [], []
    for one in contents.entries:
        row = rows.get(one.key)
        if row is None:
            new.append(_first(feed, one, at))
        elif _take(row, one, at):
            changed.append(row)
    keys = {one.key for one in contents.entries}
    for row in rows.values():
        gone = row.key not in keys and not row.cancelled
        if gone and contents.window.shows(row.start, row.end):
            row.cancelled, row.changed_at = True, max(at, row.changed_at)
            row.sequence += 1
            changed.append(row)
    return _Changes(new, changed)


def _first(feed: CalendarFeed, one: Said, at: datetime) -> FeedEntry:
    texts = {name: getattr(one, name) for name in _TEXTS}
    return FeedEntry(feed=feed, key=one.key, start=one.start, end=one.end, changed_at=at, **texts)


def _take(row: FeedEntry, one: Said, at: datetime) -> bool:
    """Bring a row up to date; return whether anything was different.

    Other times, or coming back, are a revision (SEQUENCE); other words only a
    modification (LAST-MODIFIED).
    """
    moved = (row.start, row.end, row.cancelled) != (one.start, one.end, False)
    reworded = any(getattr(row, name) != getattr(one, name) for name in _TEXTS)
    if not moved and not reworded:
        return False
    row.start, row.end, row.cancelled = one.start, one.end, False
    for name in _TEXTS:
        setattr(row, name, getattr(one, name))
    row.sequence += moved
    row.changed_at = max(at, row.changed_at)
    return True


def _shown(contents: Contents, rows: dict[str, FeedEntry], now: datetime) -> list[FeedEntry]:
    keys = {one.key for one in contents.entries}
    shown = [
        row
        for row in rows.values()
        if (row.cancelled and row.changed_at > now - PAST) or row.key in keys
    ]
    return sorted(shown, key=lambda row: (row.start, row.key))
