"""One operation as it is shown: estimate, time worked, people, state, what runs over."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import Final

from django.utils.translation import gettext as _

from shop.models import Attendance, Operation, OperationState, WorkEntry
from shop.web import show

STATE_KINDS: Final[Mapping[str, str]] = {
    OperationState.DONE: "good",
    OperationState.PAUSED: "watch",
}


@dataclass(frozen=True)
class WorkShown:
    """What the job page and the floor say about one operation."""

    operation: Operation
    state_label: str
    state_kind: str
    people: str
    ends_another_day: bool
    hours_range: str
    hours_worked: str
    worked_text: str
    range_text: str
    unattended: bool
    over: bool

    @property
    def kind(self) -> str:
        """Kind of work, for its pattern."""
        return self.operation.kind

    @property
    def name(self) -> str:
        """What is done."""
        return self.operation.name

    @property
    def sequence(self) -> int:
        """Place in the order of work."""
        return self.operation.sequence

    @property
    def planned_start(self) -> datetime | None:
        """When the calendar has it start."""
        return self.operation.planned_start

    @property
    def planned_end(self) -> datetime | None:
        """When the calendar has it end."""
        return self.operation.planned_end

    @property
    def started_at(self) -> datetime | None:
        """When it was started."""
        return self.operation.started_at


def work_shown(
    operation: Operation, now: datetime, tz: tzinfo, planned_crew: Sequence[str] = ()
) -> WorkShown:
    """Return ``operation`` with its estimate beside the work done up to ``now``.

    Its work entries, with their members, should have been fetched. Hours are
    person-hours: two people for an hour are two. Until somebody has worked on
    it, the people are those the calendar keeps for it.
    """
    entries = list(operation.work.all())
    unattended = operation.attendance == Attendance.UNATTENDED
    worked = time_worked(entries, now)
    crew = max(1, operation.crew_count)
    p10, p90 = operation.minutes_p10 * crew, operation.minutes_p90 * crew
    return WorkShown(
        operation=operation,
        state_label=operation.get_state_display(),
        state_kind=STATE_KINDS.get(operation.state, ""),
        people=_people(entries) or ", ".join(planned_crew),
        ends_another_day=_another_day(operation, tz),
        hours_range=_span(show.hours_text(p10 / 60), show.hours_text(p90 / 60)),
        hours_worked=show.hours_text(worked / timedelta(hours=1)),
        worked_text=show.minutes_text(worked / timedelta(minutes=1)),
        range_text=_range(p10, p90),
        unattended=unattended,
        over=not unattended and worked > timedelta(minutes=p90),
    )


def time_worked(entries: Iterable[WorkEntry], now: datetime) -> timedelta:
    """Person-time of work entries, an open one counted up to ``now``."""
    spent = (max(timedelta(), (entry.ended_at or now) - entry.started_at) for entry in entries)
    return sum(spent, timedelta())


def _span(low: str, high: str) -> str:
    return low if low == high else f"{low}–{high}"


def _range(p10: float, p90: float) -> str:
    low, high = show.minutes_text(_rough(p10)), show.minutes_text(_rough(p90))
    return low if low == high else _("%(low)s to %(high)s") % {"low": low, "high": high}


def _rough(minutes: float) -> float:
    """Minutes to the nearest five: an estimate shows no more than it knows."""
    return max(5.0, 5 * round(minutes / 5))


def _people(entries: Iterable[WorkEntry]) -> str:
    """Names of those who worked on it, those at work now first."""
    ordered = sorted(entries, key=lambda entry: (entry.ended_at is not None, entry.started_at))
    return ", ".join(dict.fromkeys(entry.member.name for entry in ordered))


def _another_day(operation: Operation, tz: tzinfo) -> bool:
    start, end = operation.planned_start, operation.planned_end
    if start is None or end is None:
        return False
    return start.astimezone(tz).date() != end.astimezone(tz).date()
