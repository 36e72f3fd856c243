"""Where the vehicles of the bay calendar stand: ribbons through bays and nights.

Pure arithmetic on plain values: across in percent, so that the picture fits any
width without a script; down in pixels, so that text keeps its size.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Final

from scheduling.web.rows import (
    AXIS_PX,
    GROUP_GAP_PX,
    Bar,
    Gone,
    Load,
    Row,
    Times,
    Unit,
    gone_of,
    loads_of,
    percent,
    rows_of,
)
from scheduling.web.timeaxis import Axis
from shop.templatetags.halfmil import PATTERNS

# Free space above and below what is drawn in a row.
ROW_MARGIN_PX: Final = 4
# A stay of a few minutes is still drawn wide enough to be seen.
LEAST_WIDTH_PERCENT: Final = 0.4
# Below this a job's number would be cut off, so none is written.
LEAST_LABELLED_PERCENT: Final = 4.5
# With more vehicles than this ribbons are drawn with less in them, so that scrolling stays smooth.
MANY_VISITS: Final = 120
# Of many vehicles, work that is narrower than this (half a pixel) is left out.
LEAST_BLOCK_PERCENT: Final = 0.04


@dataclass(frozen=True)
class Stay:
    """The vehicle stands in one bay or spot over ``[start, end)``."""

    unit: int
    start: datetime
    end: datetime


@dataclass(frozen=True)
class Stretch:
    """Work on the vehicle over ``[start, end)``."""

    kind: str
    name: str
    state: str
    start: datetime
    end: datetime
    where: str = ""
    window: tuple[datetime, datetime] | None = None
    """When a coat that waits for the one before it may begin."""


@dataclass(frozen=True)
class Visit:
    """One vehicle's time in the shop; ``key`` is its job's, ``label`` says it in words."""

    key: int
    number: str
    vehicle: str
    state: str
    stays: tuple[Stay, ...]
    stretches: tuple[Stretch, ...]
    arrives_at: datetime | None = None
    promised_at: datetime | None = None
    late: bool = False
    customer: str = ""
    label: str = ""
    unsure: bool = False
    free: bool = False
    """Whether it can be moved by hand: booked, and the vehicle not here yet."""

    @property
    def arrives_minute(self) -> int:
        """Drop-off in minutes since 1970, for the script that drags."""
        return int((self.arrives_at or self.stays[0].start).timestamp() // 60)


@dataclass(frozen=True)
class Block:
    """Work inside a piece, in percent of it; of many vehicles in percent of the picture."""

    x: str
    width: str
    pattern: str
    state: str
    name: str

    @property
    def open_ended(self) -> bool:
        """Whether its end is a forecast: a cure lasts as long as the climate lets it."""
        return self.pattern == "cure" and self.state != "done"


@dataclass(frozen=True)
class Piece:
    """The part of a ribbon that lies in one row."""

    x: str
    width: str
    y: int
    height: int
    wide: bool
    labelled: bool
    blocks: tuple[Block, ...]
    windows: tuple[Bar, ...]
    goes_on_left: bool
    goes_on_right: bool

    @property
    def work_y(self) -> int:
        """Top of the strip of work, from the top of the piece."""
        return 20 if self.wide else 4

    @property
    def work_height(self) -> int:
        """Height of the strip of work."""
        return self.height - self.work_y - 4


@dataclass(frozen=True)
class Link:
    """Where a vehicle is driven from one row to another."""

    x1: str
    x2: str
    y1: int
    y2: int


@dataclass(frozen=True)
class Flag:
    """The promised pick-up on the ribbon."""

    x: str
    y: int
    height: int
    late: bool


@dataclass(frozen=True)
class Ribbon:
    """One vehicle through bays and nights."""

    visit: Visit
    pieces: tuple[Piece, ...]
    links: tuple[Link, ...]
    flag: Flag | None


@dataclass(frozen=True)
class Picture:
    """Everything that the calendar's drawing needs."""

    axis: Axis
    rows: tuple[Row, ...]
    ribbons: tuple[Ribbon, ...]
    loads: tuple[Load, ...]
    gone: tuple[Gone, ...]
    plain: bool
    """Whether there are so many vehicles that pieces are drawn flat."""
    height: int
    now_x: str | None
    lines: tuple[int, ...] = field(default=())

    @property
    def scale(self) -> str:
        """Edges of the axis as minutes since 1970 with their percent, for the script."""
        pairs = zip(self.axis.edges, self.axis.shares, strict=True)
        return " ".join(f"{int(at.timestamp() // 60)}:{share:.3f}" for at, share in pairs)

    @property
    def lanes(self) -> str:
        """Bays and spots as key, kind, top and height, for the script."""
        rows = [row for row in self.rows if row.unit.kind in ("bay", "parking")]
        return " ".join(f"{r.unit.key}:{r.unit.kind}:{r.y}:{r.height}" for r in rows)


def picture_make(
    *,
    axis: Axis,
    units: Sequence[Unit],
    visits: Iterable[Visit],
    times: Times,
    now: datetime,
) -> Picture:
    """Return the drawing of what happens on ``axis``."""
    rows, visits = rows_of(units), list(visits)
    by_key = {row.unit.key: row for row in rows}
    plain = len(visits) > MANY_VISITS
    ribbons = [_ribbon(visit, axis, by_key, plain=plain) for visit in visits]
    bottom = rows[-1].y + rows[-1].height if rows else AXIS_PX
    return Picture(
        axis=axis,
        rows=rows,
        ribbons=tuple(ribbon for ribbon in ribbons if ribbon.pieces),
        loads=loads_of(rows, axis, times),
        gone=gone_of(rows, axis, times),
        plain=plain,
        height=bottom + GROUP_GAP_PX // 2,
        now_x=percent(axis.x(now)) if axis.start <= now < axis.end else None,
        lines=tuple(row.y - GROUP_GAP_PX // 2 for row in rows[1:] if row.first_of_group),
    )


def _ribbon(visit: Visit, axis: Axis, rows: Mapping[int, Row], *, plain: bool) -> Ribbon:
    stays = sorted((stay for stay in visit.stays if stay.unit in rows), key=lambda s: s.start)
    pieces = [
        piece
        for stay in stays
        if (piece := _piece(stay, visit.stretches, axis, rows[stay.unit], plain=plain))
    ]
    links = [
        Link(
            percent(axis.x(before.end)),
            percent(axis.x(after.start)),
            rows[before.unit].middle,
            rows[after.unit].middle,
        )
        for before, after in itertools.pairwise(stays)
        if before.unit != after.unit and axis.start <= after.start < axis.end
    ]
    return Ribbon(visit, tuple(pieces), tuple(links), _flag(visit, stays, axis, rows))


def _piece(
    stay: Stay, stretches: Iterable[Stretch], axis: Axis, row: Row, *, plain: bool
) -> Piece | None:
    span = axis.span(stay.start, stay.end)
    if span is None:
        return None
    left, width = span
    width = max(width, LEAST_WIDTH_PERCENT)
    frame = _Inside(axis, 0, 100) if plain else _Inside(axis, left, width)
    shown = [
        replace(s, start=max(s.start, stay.start), end=min(s.end, stay.end))
        for s in stretches
        if s.start < stay.end and s.end > stay.start and s.start < axis.end and s.end > axis.start
    ]
    if plain:
        shown = [s for s in _joined(shown) if frame.width(s.start, s.end) >= LEAST_BLOCK_PERCENT]
    return Piece(
        x=percent(left),
        width=percent(width),
        y=row.y + ROW_MARGIN_PX,
        height=row.height - 2 * ROW_MARGIN_PX,
        wide=row.unit.kind == "bay",
        labelled=width >= LEAST_LABELLED_PERCENT,
        blocks=tuple(
            Block(*frame.bar(s.start, s.end), PATTERNS[s.kind], s.state, s.name) for s in shown
        ),
        windows=tuple(
            Bar(*frame.bar(max(s.window[0], stay.start), min(s.window[1], stay.end)))
            for s in shown
            if s.window and s.window[0] < stay.end and s.window[1] > stay.start
        ),
        goes_on_left=stay.start < axis.start,
        goes_on_right=stay.end > axis.end,
    )


@dataclass(frozen=True)
class _Inside:
    """Percent inside a part of the axis."""

    axis: Axis
    left: float
    across: float

    def width(self, start: datetime, end: datetime) -> float:
        return 100 * (self.axis.x(end) - self.axis.x(start)) / self.across

    def bar(self, start: datetime, end: datetime) -> tuple[str, str]:
        x = 100 * (self.axis.x(start) - self.left) / self.across
        return percent(x), percent(self.width(start, end))


def _joined(stretches: Iterable[Stretch]) -> list[Stretch]:
    """Return stretches with neighbours that look alike drawn as one."""
    found: list[Stretch] = []
    for one in sorted(stretches, key=lambda stretch: stretch.start):
        last = found[-1] if found else None
        alike = last and (PATTERNS[last.kind], last.state) == (PATTERNS[one.kind], one.state)
        if last and alike and not one.window:
            found[-1] = replace(last, end=max(last.end, one.end))
        else:
            found.append(one)
    return found


def _flag(visit: Visit, stays: Sequence[Stay], axis: Axis, rows: Mapping[int, Row]) -> Flag | None:
    if visit.promised_at is None or not stays:
        return None
    if not axis.start <= visit.promised_at < axis.end:
        return None
    row = rows[stays[-1].unit]
    return Flag(percent(axis.x(visit.promised_at)), row.y, row.height, visit.late)
