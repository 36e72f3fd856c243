"""A job's story: what was decided, done, taken and said, in the order it happened."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, tzinfo
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from scheduling.models import Reminder, ReminderState
from shop.models import JobEvent, JobState, MaterialUse, Operation
from shop.web import show


@dataclass(frozen=True)
class Line:
    """One thing that happened; ``kind`` only says how its mark is drawn."""

    at: datetime
    kind: str
    what: str
    who: str = ""
    why: str = ""


def story_lines(
    *,
    events: Iterable[JobEvent],
    operations: Iterable[Operation],
    uses: Iterable[MaterialUse],
    reminders: Iterable[Reminder],
    tz: tzinfo,
    now: datetime,
) -> list[Line]:
    """Return the story, oldest first. Rows must come with what they name fetched."""
    lines = [_event_line(event, tz, now) for event in events]
    for operation in operations:
        lines.extend(_work_lines(operation, tz))
    lines.extend(_use_lines(uses))
    lines.extend(_sent_line(row) for row in reminders if row.state == ReminderState.SENT)
    return sorted(lines, key=lambda line: line.at)


def _event_line(event: JobEvent, tz: tzinfo, now: datetime) -> Line:
    who = event.member.name if event.member else ""
    if event.details.get("by") == "customer":
        who = _("by the customer through their page")
    if event.to_state:
        what = JobState(event.to_state).label
        return Line(event.at, "state", str(what), who, _booked_for(event, tz, now) or event.why)
    if event.kind == "moved":
        parts = [_booked_for(event, tz, now), event.why]
        return Line(event.at, "state", _("Booking moved"), who, ". ".join(filter(None, parts)))
    titles = {
        "cure": _("Cure started"),
        "reminder": _("Message"),
        "quote_accepted": _("Quote accepted"),
    }
    return Line(event.at, "note", titles.get(event.kind, _("Note")), who, event.why)


def _booked_for(event: JobEvent, tz: tzinfo, now: datetime) -> str:
    """Times that a booking or a move gave the visit, from the event's own record."""
    before, after = event.details.get("before", {}), event.details.get("after", {})
    if not after.get("arrives_at"):
        return ""
    words = {"arrives": _when(after["arrives_at"], tz, now)}
    if after.get("promised_at"):
        words["promised"] = _when(after["promised_at"], tz, now)
        said = _("drop-off %(arrives)s, pick-up by %(promised)s") % words
    else:
        said = _("drop-off %(arrives)s") % words
    if before.get("arrives_at"):
        old = {"old": _when(before["arrives_at"], tz, now), "new": said}
        return _("from %(old)s to %(new)s") % old
    return said


def _when(iso: str, tz: tzinfo, now: datetime) -> str:
    return show.when_text(datetime.fromisoformat(iso), tz, now)


def _work_lines(operation: Operation, tz: tzinfo) -> Iterator[Line]:
    """One line for each stretch of work, and one for what ended by itself."""
    for entry in operation.work.all():
        words: dict[str, Any] = {
            "work": operation.name,
            "from": show.clock_text(entry.started_at, tz),
        }
        if entry.ended_at is None:
            said = _("%(work)s, since %(from)s") % words
        else:
            words["to"] = show.clock_text(entry.ended_at, tz)
            words["time"] = show.minutes_text(
                (entry.ended_at - entry.started_at).total_seconds() / 60
            )
            said = _("%(work)s, %(from)s–%(to)s (%(time)s)") % words
        yield Line(entry.started_at, "work", said, entry.member.name)


def _use_lines(uses: Iterable[MaterialUse]) -> Iterator[Line]:
    """What one person logged within a minute stands in one line."""
    together: dict[tuple[datetime, int], list[MaterialUse]] = {}
    for use in uses:
        minute = use.at.replace(second=0, microsecond=0)
        together.setdefault((minute, use.member_id), []).append(use)
    for group in together.values():
        said = ", ".join(
            f"{use.consumable.name} {amount(use.quantity)} {use.consumable.unit}" for use in group
        )
        yield Line(group[0].at, "note", _("Used: %s") % said, group[0].member.name)


def _sent_line(row: Reminder) -> Line:
    assert row.sent_at is not None
    said = _("Message sent: %s") % row.get_purpose_display()
    return Line(row.sent_at, "note", said, why=row.recipient)


def plain(quantity: Decimal) -> str:
    """A quantity without the zeros of its column."""
    return f"{quantity.normalize():f}"


def amount(quantity: Decimal) -> str:
    """A quantity to two places: nobody measures a polish closer."""
    return plain(quantity.quantize(Decimal("0.01")))
