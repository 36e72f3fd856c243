"""Where everything of the bay calendar stands: rows, ribbons, load lines.

Pure arithmetic on plain values: across in percent, so that the picture fits any
width without a script; down in pixels, so that text keeps its size.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

from scheduling.web.timeaxis import Axis
from shop.templatetags.halfmil import PATTERNS

AXIS_PX: Final = 44
GROUP_GAP_PX: Final = 14
ROW_PX: Final[Mapping[str, int]] = {"bay": 60, "parking": 30, "technician": 24, "lamp": 24}
ROW_ORDER: Final = ("bay", "parking", "technician", "lamp")
# Free space above and below what is drawn in a row.
ROW_MARGIN_PX: Final = 4
# A stay of a few minutes is still drawn wide enough to be seen.
LEAST_WIDTH_PERCENT: Final = 0.4
# Below this a job's number would be cut off, so none is written.
LEAST_LABELLED_PERCENT: Final = 4.5


@dataclass(frozen=True)
class Unit:
    """A row to draw: one bay, spot, person or lamp."""

    key: int
    kind: str
    name: str


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
class Block:
    """Work inside a piece: percent of the piece."""

    x: str
    width: str
    pattern: str
    state: str
    name: str


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
class Bar:
    """A stretch of a load line."""

    x: str
    width: str


@dataclass(frozen=True)
class Load:
    """One person's or lamp's line: when they are there and when they are taken."""

    row: Row
    there: tuple[Bar, ...]
    taken: tuple[Bar, ...]
    percent: int | None


@dataclass(frozen=True)
class Picture:
    """Everything that the calendar's drawing needs."""

    axis: Axis
    rows: tuple[Row, ...]
    ribbons: tuple[Ribbon, ...]
    loads: tuple[Load, ...]
    height: int
    now_x: str | None
    lines: tuple[int, ...] = field(default=())


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


def picture_make(
    *,
    axis: Axis,
    units: Sequence[Unit],
    visits: Iterable[Visit],
    there: Mapping[int, Sequence[tuple[datetime, datetime]]],
    taken: Mapping[int, Sequence[tuple[datetime, datetime]]],
    now: datetime,
) -> Picture:
    """Return the drawing of what happens on ``axis``.

    Parameters
    ----------
    there
        Of a person or lamp, by key: the stretches in which they can be had.
    taken
        The stretches for which they are kept.
    """
    rows = rows_of(units)
    by_key = {row.unit.key: row for row in rows}
    ribbons = [_ribbon(visit, axis, by_key) for visit in visits]
    loads = [
        _load(row, axis, there.get(row.unit.key, ()), taken.get(row.unit.key, ()))
        for row in rows
        if row.unit.kind in ("technician", "lamp")
    ]
    bottom = rows[-1].y + rows[-1].height if rows else AXIS_PX
    return Picture(
        axis=axis,
        rows=rows,
        ribbons=tuple(ribbon for ribbon in ribbons if ribbon.pieces),
        loads=tuple(loads),
        height=bottom + GROUP_GAP_PX // 2,
        now_x=percent(axis.x(now)) if axis.start <= now < axis.end else None,
        lines=tuple(row.y - GROUP_GAP_PX // 2 for row in rows[1:] if row.first_of_group),
    )


def _ribbon(visit: Visit, axis: Axis, rows: Mapping[int, Row]) -> Ribbon:
    stays = sorted((stay for stay in visit.stays if stay.unit in rows), key=lambda s: s.start)
    pieces = [
        piece for stay in stays if (piece := _piece(stay, visit.stretches, axis, rows[stay.unit]))
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


def _piece(stay: Stay, stretches: Iterable[Stretch], axis: Axis, row: Row) -> Piece | None:
    span = axis.span(stay.start, stay.end)
    if span is None:
        return None
    left, width = span
    width = max(width, LEAST_WIDTH_PERCENT)
    blocks = [
        _block(max(s.start, stay.start), min(s.end, stay.end), s, axis, left, width)
        for s in stretches
        if s.start < stay.end and s.end > stay.start and s.start < axis.end and s.end > axis.start
    ]
    return Piece(
        x=percent(left),
        width=percent(width),
        y=row.y + ROW_MARGIN_PX,
        height=row.height - 2 * ROW_MARGIN_PX,
        wide=row.unit.kind == "bay",
        labelled=width >= LEAST_LABELLED_PERCENT,
        blocks=tuple(blocks),
        goes_on_left=stay.start < axis.start,
        goes_on_right=stay.end > axis.end,
    )


def _block(
    start: datetime, end: datetime, stretch: Stretch, axis: Axis, left: float, width: float
) -> Block:
    x = 100 * (axis.x(start) - left) / width
    across = 100 * (axis.x(end) - axis.x(start)) / width
    return Block(percent(x), percent(across), PATTERNS[stretch.kind], stretch.state, stretch.name)


def _flag(visit: Visit, stays: Sequence[Stay], axis: Axis, rows: Mapping[int, Row]) -> Flag | None:
    if visit.promised_at is None or not stays:
        return None
    if not axis.start <= visit.promised_at < axis.end:
        return None
    row = rows[stays[-1].unit]
    return Flag(percent(axis.x(visit.promised_at)), row.y, row.height, visit.late)


def _load(
    row: Row,
    axis: Axis,
    there: Sequence[tuple[datetime, datetime]],
    taken: Sequence[tuple[datetime, datetime]],
) -> Load:
    available = _within(there, axis)
    kept = _within(taken, axis)
    share = round(100 * (kept / available)) if available else None
    return Load(row, _bars(there, axis), _bars(taken, axis), share)


def _bars(spans: Iterable[tuple[datetime, datetime]], axis: Axis) -> tuple[Bar, ...]:
    placed = [axis.span(start, end) for start, end in spans]
    return tuple(Bar(percent(p[0]), percent(p[1])) for p in placed if p is not None)


def _within(spans: Iterable[tuple[datetime, datetime]], axis: Axis) -> timedelta:
    total = timedelta()
    for start, end in spans:
        total += max(timedelta(), min(end, axis.end) - max(start, axis.start))
    return total
