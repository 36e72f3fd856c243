"""The way across a plan's picture: minutes to places, nights drawn narrow."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

from scheduling.core.problem import Plan, Week
from scheduling.core.values import Window

DAY_MINUTES = 24 * 60
CLOSED_SHARE = 0.125
"""Width of a closed minute against an open one: a ribbon still runs through the night."""
WIDEST, NARROWEST_HOUR, WIDEST_HOUR = 2400.0, 5.0, 18.0
LEAST_BETWEEN_HOURS = 22.0
HOUR_STEPS = (1, 2, 3, 6)


@dataclass(frozen=True, slots=True)
class PlanAxis:
    """Maps minutes of a week to places; straight between its edges.

    Attributes
    ----------
    edges : tuple of int
        Minutes, rising.
    places : tuple of float
        Where each edge stands.
    open_spans : tuple of (int, int)
        From the first to the last working or opening minute of each day that has one.
    """

    edges: tuple[int, ...]
    places: tuple[float, ...]
    open_spans: tuple[Window, ...]

    @property
    def days(self) -> int:
        """Number of days shown."""
        return self.edges[-1] // DAY_MINUTES

    @property
    def right(self) -> float:
        """Where the last day ends."""
        return self.places[-1]

    def x(self, minute: int) -> float:
        """Return the place of a minute; what is not shown stands at the border."""
        held = min(max(minute, self.edges[0]), self.edges[-1])
        n = min(bisect_right(self.edges, held), len(self.edges) - 1) - 1
        part = (held - self.edges[n]) / (self.edges[n + 1] - self.edges[n])
        return self.places[n] + part * (self.places[n + 1] - self.places[n])

    def hours(self, span: Window) -> list[int]:
        """Return the full hours inside a span that have room for a figure, in minutes."""
        start, end = span
        an_hour = (self.x(end) - self.x(start)) / ((end - start) / 60)
        step = next((s for s in HOUR_STEPS if s * an_hour >= LEAST_BETWEEN_HOURS), HOUR_STEPS[-1])
        first = -(-start // 60)
        return [60 * hour for hour in range(first, end // 60 + 1) if not (hour % 24) % step]


def plan_axis(week: Week, plan: Plan, left: float) -> PlanAxis:
    """Return the axis from the start of the week to the day on which the plan ends."""
    last = max((placed.end for placed in plan.ops.values()), default=0)
    days = max(1, -(-(last or min(week.horizon, 7 * DAY_MINUTES)) // DAY_MINUTES))
    open_spans = tuple(span for day in range(days) if (span := _open_span(week, day)))
    pieces = _pieces(days, open_spans)
    size = sum((end - start) * share for start, end, share in pieces)
    hour = min(max((WIDEST - left) / (size / 60), NARROWEST_HOUR), WIDEST_HOUR)
    edges, places = [0], [left]
    for start, end, share in pieces:
        edges.append(end)
        places.append(places[-1] + (end - start) * share * hour / 60)
    return PlanAxis(tuple(edges), tuple(places), open_spans)


def _open_span(week: Week, day: int) -> Window | None:
    """Return when anybody works or the doors are open on a day, from the first to the last."""
    dawn, midnight = day * DAY_MINUTES, (day + 1) * DAY_MINUTES
    cut = [
        (max(start, dawn), min(end, midnight))
        for windows in (week.opening, *week.calendars.values())
        for start, end in windows
        if start < midnight and end > dawn
    ]
    return (min(s for s, _ in cut), max(e for _, e in cut)) if cut else None


def _pieces(days: int, open_spans: tuple[Window, ...]) -> list[tuple[int, int, float]]:
    """Cut the days into open and closed pieces, each with its share of the width."""
    found: list[tuple[int, int, float]] = []
    at = 0
    for start, end in open_spans:
        if start > at:
            found.append((at, start, CLOSED_SHARE))
        found.append((start, end, 1.0))
        at = end
    if at < days * DAY_MINUTES:
        # A week in which nobody ever works is drawn at full width.
        found.append((at, days * DAY_MINUTES, CLOSED_SHARE if open_spans else 1.0))
    return found
