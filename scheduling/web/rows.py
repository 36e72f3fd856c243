"""Rows of the bay calendar, and what is drawn along them that is no vehicle.

People and lamps have load lines: when they are there, when they would stay for extra pay, when
they are taken. A bay that is not there says so in its row.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

from scheduling.web.timeaxis import Axis

AXIS_PX: Final = 44
GROUP_GAP_PX: Final = 14
ROW_PX: Final[Mapping[str, int]] = {"bay": 60, "parking": 30, "technician": 24, "lamp": 24}
ROW_ORDER: Final = ("bay", "parking", "technician", "lamp")
# A narrower stretch has no room for words.
LEAST_SAID_PERCENT: Final = 4.0

Moments = Sequence[tuple[datetime, datetime]]


@dataclass(frozen=True)
class Unit:
    """A row to draw: one bay, spot, person or lamp."""

    key: int
    kind: str
    name: str


@dataclass(frozen=True)
class Row:
    """A row of the picture, in pixels from the top."""

    unit: Unit
    y: int
    height: int
    first_of_group: bool

    @property
    def middle(self) -> int:
        """Height at which the row's line or text stands."""
        return self.y + self.height // 2


@dataclass(frozen=True)
class Bar:
    """A stretch of a row, across in percent; ``said`` stands in it where there is room."""

    x: str
    width: str
    label: str = ""
    said: str = ""


@dataclass(frozen=True)
class Load:
    """One person's or lamp's line: when they are there and when they are taken."""

    row: Row
    there: tuple[Bar, ...]
    overtime: tuple[Bar, ...]
    taken: tuple[Bar, ...]
    percent: int | None


@dataclass(frozen=True)
class Gone:
    """A bay, spot, person or lamp that is not there, with the reason."""

    row: Row
    bars: tuple[Bar, ...]


@dataclass(frozen=True)
class Away:
    """A stretch in which a unit is not there; ``label`` says it whole, ``said`` in brief."""

    start: datetime
    end: datetime
    label: str
    said: str


@dataclass(frozen=True)
class Times:
    """Stretches by the key of a unit: there, there for extra pay, taken, away."""

    there: Mapping[int, Moments]
    taken: Mapping[int, Moments]
    overtime: Mapping[int, Moments] = field(default_factory=dict)
    away: Mapping[int, Sequence[Away]] = field(default_factory=dict)


def percent(value: float) -> str:
    """Return ``value`` as an SVG percentage, with a point whatever the language."""
    return f"{value:.3f}%"


def rows_of(units: Iterable[Unit]) -> tuple[Row, ...]:
    """Lay the units out: bays, then parking, then crew and lamps, each in the order given."""
    rows: list[Row] = []
    y = AXIS_PX
    for kind in ROW_ORDER:
        group = [unit for unit in units if unit.kind == kind]
        for n, unit in enumerate(group):
            y += GROUP_GAP_PX if rows and n == 0 else 0
            rows.append(Row(unit, y, ROW_PX[kind], n == 0))
            y += ROW_PX[kind]
    return tuple(rows)


def loads_of(rows: Iterable[Row], axis: Axis, times: Times) -> tuple[Load, ...]:
    """Return the load lines of people and lamps."""
    return tuple(_load(row, axis, times) for row in rows if row.unit.kind in ("technician", "lamp"))


def gone_of(rows: Iterable[Row], axis: Axis, times: Times) -> tuple[Gone, ...]:
    """Return what is not there, by row."""
    found = []
    for row in rows:
        bars = []
        for away in times.away.get(row.unit.key, ()):
            span = axis.span(away.start, away.end)
            if span is not None:
                said = away.said if span[1] >= LEAST_SAID_PERCENT else ""
                bars.append(Bar(percent(span[0]), percent(span[1]), away.label, said))
        if bars:
            found.append(Gone(row, tuple(bars)))
    return tuple(found)


def _load(row: Row, axis: Axis, times: Times) -> Load:
    there, taken = times.there.get(row.unit.key, ()), times.taken.get(row.unit.key, ())
    available, kept = _within(there, axis), _within(taken, axis)
    return Load(
        row,
        _bars(there, axis),
        _bars(times.overtime.get(row.unit.key, ()), axis),
        _bars(taken, axis),
        round(100 * (kept / available)) if available else None,
    )


def _bars(spans: Iterable[tuple[datetime, datetime]], axis: Axis) -> tuple[Bar, ...]:
    placed = [axis.span(start, end) for start, end in spans]
    return tuple(Bar(percent(p[0]), percent(p[1])) for p in placed if p is not None)


def _within(spans: Iterable[tuple[datetime, datetime]], axis: Axis) -> timedelta:
    total = timedelta()
    for start, end in spans:
        total += max(timedelta(), min(end, axis.end) - max(start, axis.start))
    return total
