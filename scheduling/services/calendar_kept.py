"""A shop's calendar in the memory of the process, for answers while a caller waits.

Weeks of it are read once. Every question then reads what the database noted since
(``scheduling/calendar_watch.py``): days in which holds changed are read again, anything else
is a reason to read all anew. Two processes, a transaction that is undone and one that is
committed late are all seen right, because a note is committed with its change.

Inside a transaction nothing is kept: there a reader must see its own changes, which nobody
else may.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from threading import Lock
from typing import Any, Final, NamedTuple

from django.db import connection
from django.db.models import Max, Min

from scheduling.core import worktime
from scheduling.core.freeindex import FreeIndex
from scheduling.core.values import Window
from scheduling.models import CalendarChange
from scheduling.services.holder import Holder, holds_of
from scheduling.services.horizon import (
    GRID_MINUTES,
    Horizon,
    holds_between,
    horizon_load,
    policy_of,
)
from scheduling.services.lapse import slots_let_go
from shop.models import Shop

WEEKS_TOGETHER: Final = 4
"""Questions about the same four weeks share one kept calendar."""
MOST_KEPT: Final = 8
MOST_NOTES: Final = 500
"""After so many changes reading all anew is cheaper than reading each of them."""
NOTES_KEPT: Final = timedelta(days=2)
"""Longer than any transaction is open."""
_SOME_MONDAY: Final = date(2024, 1, 1)

_NOTES = """
SELECT {running}, EXISTS (
  SELECT 1 FROM scheduling_keptslot AS kept WHERE kept.shop_id = %s AND kept.kept_until <= %s
), note.id, note.token, note.writer, {start}, {end}
FROM (SELECT 1) AS one LEFT JOIN scheduling_calendarchange AS note ON note.shop_id = %s AND {since}
"""
_NOTES_POSTGRES: Final = _NOTES.format(
    running="pg_snapshot_xmin(pg_current_snapshot())::text::bigint",
    start="EXTRACT(EPOCH FROM note.start)::float8",
    end='EXTRACT(EPOCH FROM note."end")::float8',
    since="(note.writer >= %s OR note.id = %s)",
)
# One writer at a time: a higher id is always the later change, and no transaction counts.
_NOTES_SQLITE: Final = _NOTES.format(
    running="0",
    start="(julianday(note.start) - 2440587.5) * 86400.0",
    end='(julianday(note."end") - 2440587.5) * 86400.0',
    since="%s IS NOT NULL AND note.id >= %s",
)


class Disagreement(RuntimeError):
    """A place breaks a rule by the rows: what is kept is not what they say, or a search erred."""


class _Note(NamedTuple):
    token: int
    writer: int
    start: float | None
    end: float | None


@dataclass(frozen=True)
class _Seen:
    """Which notes are in a kept calendar.

    ``running`` is the oldest transaction that was still open: of older ones nothing new can
    come. ``last`` is the newest note; where it is gone, others may be as well.
    """

    running: int
    last: int
    notes: Mapping[int, _Note]

    def after(self, running: int, notes: Mapping[int, _Note]) -> _Seen:
        last = max((self.last, *notes))
        held = {one: note for one, note in notes.items() if note.writer >= running or one == last}
        return _Seen(running, last, held)


@dataclass(frozen=True)
class _Kept:
    seen: _Seen
    horizon: Horizon
    empty: FreeIndex
    """The index without holds; closures and absences are in it."""


_kept: OrderedDict[tuple[int, str, date], _Kept] = OrderedDict()
_lock = Lock()


def calendar_kept(
    *, shop: Shop, start: datetime, now: datetime, ignoring: Holder | None = None
) -> Horizon | None:
    """Return a calendar in which to look from ``start`` on, as it is now.

    It begins before ``start`` and reaches at least as far as the shop's policy says. One query
    where nothing changed. None inside a transaction, where nothing is kept.

    Parameters
    ----------
    now
        What was kept for callers until then is let go.
    ignoring
        A job or a kept slot whose own holds count as free.
    """
    if connection.in_atomic_block or not connection.get_autocommit():
        return None
    key = (shop.pk, shop.zone, _first_day(shop, start))
    with _lock:
        kept = _kept.get(key)
    kept = _up_to_date(shop, kept, now) if kept else None
    if kept is None:
        kept = _load(shop, key[2], now)
    with _lock:
        _kept[key] = kept
        _kept.move_to_end(key)
        while len(_kept) > MOST_KEPT:
            _kept.popitem(last=False)
    horizon = replace(kept.horizon, shop=shop)
    return horizon if ignoring is None else _without(horizon, kept, ignoring)


def calendar_forget(shop: Shop) -> None:
    """Read all anew the next time."""
    with _lock:
        for key in [key for key in _kept if key[0] == shop.pk]:
            del _kept[key]


def notes_prune(*, now: datetime) -> int:
    """Remove old notes, but each shop's newest; return how many went."""
    newest = CalendarChange.objects.values("shop").annotate(last=Max("pk")).values("last")
    old = CalendarChange.objects.filter(at__lt=now - NOTES_KEPT).exclude(
        pk__in=list(newest.values_list("last", flat=True))
    )
    return old.delete()[0]


def _first_day(shop: Shop, start: datetime) -> date:
    day = start.astimezone(shop.tz).date()
    return day - timedelta(days=(day - _SOME_MONDAY).days % (7 * WEEKS_TOGETHER))


def _notes(shop: Shop, running: int, last: int, now: datetime) -> tuple[int, dict[int, _Note]]:
    """Read what was noted; slots whose time has passed are let go first, which is noted too."""
    rows = _noted(shop, running, last, now)
    if rows[0][1]:
        slots_let_go(now=now, shop=shop)
        rows = _noted(shop, running, last, now)
    return rows[0][0], {row[2]: _Note(*row[3:]) for row in rows if row[2] is not None}


def _noted(shop: Shop, running: int, last: int, now: datetime) -> list[tuple[Any, ...]]:
    until = connection.ops.adapt_datetimefield_value(now)
    postgres = connection.vendor == "postgresql"
    with connection.cursor() as cursor:
        cursor.execute(
            _NOTES_POSTGRES if postgres else _NOTES_SQLITE,
            [shop.pk, until, shop.pk, running, last],
        )
        found: list[tuple[Any, ...]] = cursor.fetchall()
    return found


def _load(shop: Shop, first_day: date, now: datetime) -> _Kept:
    # Read before the rows: a change in between is read twice, never missed.
    running, notes = _notes(shop, 0, 0, now)
    days = policy_of(shop).horizon_days + 7 * WEEKS_TOGETHER
    start = worktime.instant_of(first_day, time(), shop.tz)
    horizon = horizon_load(shop=shop, start=start, days=days)
    empty = FreeIndex(horizon.resources, horizon.away)
    # Only the index is brought up to date, so nobody is to read holds from elsewhere.
    horizon = replace(horizon, busy={}, kept=True)
    return _Kept(_Seen(0, 0, {}).after(running, notes), horizon, empty)


def _up_to_date(shop: Shop, kept: _Kept, now: datetime) -> _Kept | None:
    """Return what is kept with all changes since; None where it must be read anew."""
    seen = kept.seen
    running, notes = _notes(shop, seen.running, seen.last, now)
    anchor = seen.notes.get(seen.last)
    if notes and (anchor is None or seen.last not in notes):
        return None
    if any(one in notes and notes[one].token != note.token for one, note in seen.notes.items()):
        return None
    if not notes and anchor is not None:
        return None
    new = [note for one, note in notes.items() if one not in seen.notes]
    if len(new) > MOST_NOTES or any(note.start is None for note in new):
        return None
    seen = seen.after(running, notes)
    if not new:
        return replace(kept, seen=seen)
    zero = kept.horizon.origin.timestamp()
    windows = [(_slot((n.start or 0) - zero), _slot((n.end or 0) - zero, up=True)) for n in new]
    return replace(kept, seen=seen, horizon=_read_again(kept.horizon, kept, windows))


def _slot(seconds: float, *, up: bool = False) -> int:
    """Whole minutes on the grid around a moment, a little wider than need be."""
    slot = int(seconds // (60 * GRID_MINUTES)) + (1 if up else 0)
    return slot * GRID_MINUTES


def _read_again(
    horizon: Horizon, kept: _Kept, windows: Sequence[Window], ignoring: Holder | None = None
) -> Horizon:
    """Read the holds of some stretches anew, into an index of its own."""
    index = horizon.index.copy()
    for a, b in worktime.join(windows):
        low, high = max(0, a), min(b, horizon.resources.horizon)
        if low >= high:
            continue
        index.reset(kept.empty, low, high)
        read = holds_between(horizon.shop, horizon.origin, low, high, ignoring)
        for one in read.keys() & horizon.resources.by_id.keys():
            for start, end in read[one]:
                index.add(one, start, end)
    return replace(horizon, index=index)


def _without(horizon: Horizon, kept: _Kept, holder: Holder) -> Horizon:
    """Return the calendar as if somebody held nothing; the kept one stays as it is."""
    held = holds_of(holder).aggregate(start=Min("start"), end=Max("end"))
    if held["start"] is None:
        return horizon
    zero = horizon.origin.astimezone(UTC)
    seconds = [(held[name] - zero).total_seconds() for name in ("start", "end")]
    window = (_slot(seconds[0]), _slot(seconds[1], up=True))
    return _read_again(horizon, kept, [window], ignoring=holder)
