"""Working time: shifts on the shop's clock turned into instants and minutes.

A shift is written on the wall clock of the shop ("Monday 08:00 to 17:00"); work happens in
absolute time. The wall clock is left behind here, once: windows come out as aware instants in
UTC, or as whole minutes from an origin, and all arithmetic after that is plain subtraction. A
24 hour cure is 24 absolute hours, whatever the clocks do meanwhile.

Daylight saving
    A wall time that does not exist (clocks jump forward over it) means the end of the jump; a
    wall time that exists twice means its first occurrence. Both are "the first instant at which
    the wall clock shows that time or a later one".
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import accumulate
from typing import TypeVar
from zoneinfo import ZoneInfo

from scheduling.core.values import Window

MINUTE = timedelta(minutes=1)
Moment = TypeVar("Moment", int, datetime)


class OutOfCalendarError(ValueError):
    """The calendar ends before the asked minutes of work are done (or begins after)."""


@dataclass(frozen=True, slots=True)
class Span:
    """A half-open stretch of time between two aware instants in UTC."""

    start: datetime
    end: datetime

    def __post_init__(self) -> None:
        if self.start.tzinfo is None or self.end.tzinfo is None:
            raise ValueError("a span needs aware instants")
        if self.end <= self.start:
            raise ValueError(f"a span ends after it starts, not {self.start} to {self.end}")


@dataclass(frozen=True, slots=True)
class Shift:
    """A weekly shift on the wall clock.

    Parameters
    ----------
    weekday : int
        0 is Monday, 6 is Sunday: the day on which the shift starts.
    start, end : datetime.time
        An ``end`` at or before ``start`` lies on the next day.
    breaks : tuple of (datetime.time, datetime.time)
        Stretches without work inside the shift.
    every_weeks : int
        1 for every week, 2 for every other one, and so on, counted from the week (Monday to
        Sunday) of ``first_day``.
    first_day, last_day : datetime.date, optional
        First and last day (both included) on which the shift may start.
    """

    weekday: int
    start: time
    end: time
    breaks: tuple[tuple[time, time], ...] = ()
    every_weeks: int = 1
    first_day: date | None = None
    last_day: date | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.weekday <= 6:
            raise ValueError(f"weekday is 0 (Monday) to 6 (Sunday), not {self.weekday}")
        if any(clock.tzinfo is not None for clock in (self.start, self.end)):
            raise ValueError("shift times are wall-clock times without a zone")
        if self.every_weeks < 1:
            raise ValueError(f"every_weeks is at least 1, not {self.every_weeks}")
        if self.every_weeks > 1 and self.first_day is None:
            raise ValueError("a shift of every so many weeks needs the first_day to count from")
        if self.first_day and self.last_day and self.last_day < self.first_day:
            raise ValueError(f"last_day {self.last_day} lies before first_day {self.first_day}")

    def starts_on(self, day: date) -> bool:
        """Return whether the shift starts on this day."""
        if day.weekday() != self.weekday:
            return False
        if self.first_day is None:
            return self.last_day is None or day <= self.last_day
        if day < self.first_day or (self.last_day is not None and day > self.last_day):
            return False
        monday = self.first_day - timedelta(days=self.first_day.weekday())
        return (day - monday).days // 7 % self.every_weeks == 0


def instant_of(day: date, clock: time, zone: ZoneInfo) -> datetime:
    """Return the first instant (UTC) at which the zone's wall clock shows at least this time.

    Parameters
    ----------
    day, clock
        The wall-clock date and time, without a zone.
    zone : zoneinfo.ZoneInfo
        The shop's zone.
    """
    wall = datetime.combine(day, clock)
    late = wall.replace(tzinfo=zone, fold=0).astimezone(UTC)
    if late.astimezone(zone).replace(tzinfo=None) == wall:
        return late
    # The wall time falls into the spring gap: fold 1 lands before the jump, fold 0 after it.
    early = wall.replace(tzinfo=zone, fold=1).astimezone(UTC)
    offset_after = late.astimezone(zone).utcoffset()
    while late - early > MINUTE:
        middle = early + ((late - early) // 2 // MINUTE) * MINUTE
        if middle.astimezone(zone).utcoffset() == offset_after:
            late = middle
        else:
            early = middle
    return late


def shift_spans(
    shifts: Iterable[Shift],
    zone: ZoneInfo,
    first_day: date,
    last_day: date,
    *,
    closed_days: Iterable[date] = (),
    closed_spans: Iterable[Span] = (),
) -> list[Span]:
    """Return the working stretches of weekly shifts between two days, both included.

    Parameters
    ----------
    shifts : iterable of Shift
        Overlapping shifts are joined.
    zone : zoneinfo.ZoneInfo
        The shop's zone.
    first_day, last_day : datetime.date
        Days (in the zone) on which shifts start.
    closed_days : iterable of datetime.date
        Whole local days without work, midnight to midnight on the wall clock.
    closed_spans : iterable of Span
        Other stretches without work (an absence, a closure of two hours).

    Returns
    -------
    list of Span
        In order, disjoint, in UTC, breaks and closures cut out.
    """
    work: list[tuple[datetime, datetime]] = []
    by_weekday: dict[int, list[Shift]] = {}
    for shift in shifts:
        by_weekday.setdefault(shift.weekday, []).append(shift)
    day = first_day
    while day <= last_day:
        for shift in by_weekday.get(day.weekday(), ()):
            if shift.starts_on(day):
                work.extend(_one_shift(shift, day, zone))
        day += timedelta(days=1)
    holes = [(span.start, span.end) for span in closed_spans]
    for closed in closed_days:
        next_day = closed + timedelta(days=1)
        holes.append((instant_of(closed, time(), zone), instant_of(next_day, time(), zone)))
    return [Span(start, end) for start, end in cut(join(work), join(holes))]


def _one_shift(shift: Shift, day: date, zone: ZoneInfo) -> list[tuple[datetime, datetime]]:
    def at(clock: time, *, is_end: bool) -> datetime:
        overnight = clock < shift.start or (is_end and clock <= shift.start)
        return instant_of(day + timedelta(days=1) if overnight else day, clock, zone)

    start, end = at(shift.start, is_end=False), at(shift.end, is_end=True)
    if end <= start:  # the whole shift fell into the spring gap
        return []
    holes = [(at(a, is_end=False), at(b, is_end=True)) for a, b in shift.breaks]
    return cut([(start, end)], join((a, b) for a, b in holes if b > a))


def join(pieces: Iterable[tuple[Moment, Moment]]) -> list[tuple[Moment, Moment]]:
    """Return the pieces in order, with overlapping and touching ones joined."""
    joined: list[tuple[Moment, Moment]] = []
    for start, end in sorted(pieces):
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], end))
        else:
            joined.append((start, end))
    return joined


def cut(
    pieces: Sequence[tuple[Moment, Moment]], holes: Sequence[tuple[Moment, Moment]]
) -> list[tuple[Moment, Moment]]:
    """Return what is left of the pieces without the holes; both in order and disjoint."""
    left: list[tuple[Moment, Moment]] = []
    k = 0
    for start, end in pieces:
        while k < len(holes) and holes[k][1] <= start:
            k += 1
        at, i = start, k
        while i < len(holes) and holes[i][0] < end:
            if holes[i][0] > at:
                left.append((at, holes[i][0]))
            at = max(at, holes[i][1])
            i += 1
        if at < end:
            left.append((at, end))
    return left


def common(
    a: Sequence[tuple[Moment, Moment]], b: Sequence[tuple[Moment, Moment]]
) -> list[tuple[Moment, Moment]]:
    """Return the stretches that lie in both; both in order and disjoint."""
    both: list[tuple[Moment, Moment]] = []
    i = k = 0
    while i < len(a) and k < len(b):
        start, end = max(a[i][0], b[k][0]), min(a[i][1], b[k][1])
        if start < end:
            both.append((start, end))
        if a[i][1] < b[k][1]:
            i += 1
        else:
            k += 1
    return both


def within(windows: Sequence[Window], start: int, end: int) -> list[Window]:
    """Return the parts of ordered, disjoint windows that lie inside ``[start, end)``.

    Only those windows are looked at, however many there are before and after.
    """
    k = max(0, bisect_right(windows, (start,)) - 1)
    found: list[Window] = []
    while k < len(windows) and windows[k][0] < end:
        a, b = max(start, windows[k][0]), min(end, windows[k][1])
        if b > a:
            found.append((a, b))
        k += 1
    return found


def minute_of(instant: datetime, origin: datetime) -> int:
    """Return the whole minutes from the origin to the instant (rounded down)."""
    return (instant - origin) // MINUTE


def instant_at(minute: int, origin: datetime) -> datetime:
    """Return the instant so many minutes after the origin, in UTC."""
    return origin.astimezone(UTC) + minute * MINUTE


def minute_windows(spans: Iterable[Span], origin: datetime) -> tuple[Window, ...]:
    """Return the spans as minutes from the origin, without what lies before it."""
    whole = ((minute_of(s.start, origin), minute_of(s.end, origin)) for s in spans)
    return tuple(join((max(0, start), end) for start, end in whole if end > max(0, start)))


class WorkCalendar:
    """Arithmetic with working minutes over fixed windows.

    Parameters
    ----------
    windows : sequence of (int, int)
        Working stretches in minutes from an origin; touching ones are joined.
    """

    __slots__ = ("_before", "_ends", "_starts", "windows")

    def __init__(self, windows: Sequence[Window]) -> None:
        self.windows: tuple[Window, ...] = tuple(join(windows))
        self._starts = [start for start, _ in self.windows]
        self._ends = [end for _, end in self.windows]
        lengths = (end - start for start, end in self.windows)
        self._before = list(accumulate(lengths, initial=0))

    def is_working(self, minute: int) -> bool:
        """Return whether the minute that begins here is worked."""
        i = bisect_right(self._starts, minute) - 1
        return i >= 0 and minute < self._ends[i]

    def _worked_until(self, minute: int) -> int:
        i = bisect_right(self._starts, minute) - 1
        if i < 0:
            return 0
        return self._before[i] + min(minute, self._ends[i]) - self._starts[i]

    def between(self, start: int, end: int) -> int:
        """Return the working minutes in ``[start, end)``; negative if end is before start."""
        return self._worked_until(end) - self._worked_until(start)

    def add(self, start: int, minutes: int) -> int:
        """Return when so many minutes of work, begun at ``start``, are done.

        Nothing is done in no time: ``add(t, 0) == t`` even outside the windows.

        Raises
        ------
        OutOfCalendarError
            If the calendar ends before the work does.
        """
        if minutes < 0:
            return self.subtract(start, -minutes)
        if minutes == 0:
            return start
        target = self._worked_until(start) + minutes
        i = bisect_left(self._before, target) - 1
        if i >= len(self.windows):
            raise OutOfCalendarError(f"fewer than {minutes} minutes of work after minute {start}")
        return self._starts[i] + target - self._before[i]

    def subtract(self, end: int, minutes: int) -> int:
        """Return when to start so that so many minutes of work are done at ``end``.

        Raises
        ------
        OutOfCalendarError
            If the calendar begins too late.
        """
        if minutes < 0:
            return self.add(end, -minutes)
        if minutes == 0:
            return end
        target = self._worked_until(end) - minutes
        if target < 0:
            raise OutOfCalendarError(f"fewer than {minutes} minutes of work before minute {end}")
        i = bisect_right(self._before, target) - 1
        return self._starts[i] + target - self._before[i]

    def pieces(self, start: int, end: int) -> tuple[Window, ...]:
        """Return the working stretches inside ``[start, end)``."""
        i = bisect_right(self._ends, start)
        found = []
        while i < len(self.windows) and self._starts[i] < end:
            found.append((max(start, self._starts[i]), min(end, self._ends[i])))
            i += 1
        return tuple(found)
