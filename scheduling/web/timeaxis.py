"""The calendar's way across: opening hours at full width, nights drawn narrow.

A linear axis would give two thirds of its width to hours in which nobody works.
Here a closed hour takes an eighth of an open one, so that a ribbon still runs
unbroken through the night, and a cure can be seen to do so.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import Final

Window = tuple[time, time]

# Width of a closed hour against an open one.
CLOSED_WEIGHT: Final = 0.125
# Hour marks stand at least this share of the whole width apart.
LEAST_TICK_SHARE: Final = 0.028
TICK_STEPS_HOURS: Final = (1, 2, 3, 6)


@dataclass(frozen=True)
class Tick:
    """A mark on the axis: where it stands, in percent, and the instant it marks."""

    x: float
    at: datetime


@dataclass(frozen=True)
class Day:
    """One day's share of the axis, in percent, with its open span where there is one."""

    day: date
    x: float
    width: float
    open_x: float | None
    open_width: float
    ticks: tuple[Tick, ...]


@dataclass(frozen=True)
class Axis:
    """Maps instants to percent of the width; straight between its edges.

    Parameters
    ----------
    edges
        Aware UTC instants, rising.
    shares
        Position of each edge, 0 to 100.
    days
        The days shown, in order.
    """

    edges: tuple[datetime, ...]
    shares: tuple[float, ...]
    days: tuple[Day, ...]

    @property
    def start(self) -> datetime:
        """First instant shown."""
        return self.edges[0]

    @property
    def end(self) -> datetime:
        """First instant no longer shown."""
        return self.edges[-1]

    def x(self, at: datetime) -> float:
        """Return the place of ``at`` in percent; what lies outside stands at the edge."""
        return _x(self.edges, self.shares, at)

    def span(self, start: datetime, end: datetime) -> tuple[float, float] | None:
        """Return place and width in percent of ``[start, end)``, or None where it is not shown."""
        if end <= self.start or start >= self.end:
            return None
        left = self.x(start)
        return left, self.x(end) - left


def axis_make(
    *,
    first_day: date,
    days: int,
    zone: tzinfo,
    hours: Mapping[int, Sequence[Window]],
    closed: Collection[date] = (),
) -> Axis:
    """Return the axis of ``days`` days from ``first_day``, midnight to midnight in ``zone``.

    Parameters
    ----------
    hours
        Opening windows by weekday, Monday being 0, wall-clock time; a break
        between two windows is drawn as open.
    closed
        Days on which the shop is closed whatever the weekday says.
    """
    shown = [first_day + timedelta(days=n) for n in range(days)]
    spans = {day: _open_span(day, hours, closed) for day in shown}
    # A stretch in which the shop never opens is drawn at full width throughout.
    never_open = not any(spans.values())
    edges: list[datetime] = []
    weights: list[float] = []
    for day in shown:
        for start, weight in _pieces(day, spans[day], never_open):
            edges.append(_instant(day, start, zone))
            weights.append(weight)
    edges.append(_instant(shown[-1] + timedelta(days=1), time(0), zone))
    shares = _shares(edges, weights)
    return Axis(
        tuple(edges),
        shares,
        tuple(_day(day, spans[day], zone, tuple(edges), shares) for day in shown),
    )


def _open_span(
    day: date, hours: Mapping[int, Sequence[Window]], closed: Collection[date]
) -> Window | None:
    windows = hours.get(day.weekday(), ())
    if not windows or day in closed:
        return None
    return min(opens for opens, _ in windows), max(closes for _, closes in windows)


def _pieces(day: date, span: Window | None, never_open: bool) -> list[tuple[time, float]]:
    """Starts of a day's stretches with the weight of each."""
    if span is None:
        return [(time(0), 1.0 if never_open else CLOSED_WEIGHT)]
    opens, closes = span
    found = [(opens, 1.0), (closes, CLOSED_WEIGHT)]
    return found if opens == time(0) else [(time(0), CLOSED_WEIGHT), *found]


def _instant(day: date, wall: time, zone: tzinfo) -> datetime:
    # A wall-clock time skipped in spring resolves to the instant an hour on,
    # one repeated in autumn to the first of the two: the day keeps its order.
    return datetime.combine(day, wall, tzinfo=zone).astimezone(UTC)


def _shares(edges: Sequence[datetime], weights: Sequence[float]) -> tuple[float, ...]:
    sizes = [weight * (edges[n + 1] - edges[n]).total_seconds() for n, weight in enumerate(weights)]
    total, at, found = sum(sizes), 0.0, [0.0]
    for size in sizes:
        at += size
        found.append(100 * at / total)
    found[-1] = 100.0
    return tuple(found)


def _x(edges: Sequence[datetime], shares: Sequence[float], at: datetime) -> float:
    if at <= edges[0]:
        return 0.0
    if at >= edges[-1]:
        return 100.0
    n = bisect_right(edges, at) - 1
    part = (at - edges[n]) / (edges[n + 1] - edges[n])
    return shares[n] + part * (shares[n + 1] - shares[n])


def _day(
    day: date,
    span: Window | None,
    zone: tzinfo,
    edges: Sequence[datetime],
    shares: Sequence[float],
) -> Day:
    def place(wall: time, on: date = day) -> float:
        return _x(edges, shares, _instant(on, wall, zone))

    left = place(time(0))
    width = place(time(0), day + timedelta(days=1)) - left
    if span is None:
        return Day(day, left, width, None, 0.0, ())
    opens, closes = span
    open_x = place(opens)
    open_width = place(closes) - open_x
    hours = (closes.hour + closes.minute / 60) - (opens.hour + opens.minute / 60)
    per_hour = open_width / hours
    step = next(
        (step for step in TICK_STEPS_HOURS if per_hour * step >= 100 * LEAST_TICK_SHARE),
        TICK_STEPS_HOURS[-1],
    )
    first = opens.hour if not opens.minute else opens.hour + 1
    walls = [time(hour) for hour in range(first, closes.hour + 1, step) if time(hour) < closes]
    ticks = tuple(Tick(place(wall), _instant(day, wall, zone)) for wall in walls)
    return Day(day, left, width, open_x, open_width, ticks)
