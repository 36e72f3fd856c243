"""What is at risk in the days shown: late, not come, overrun, wrong climate; in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import Final

from django.utils.translation import gettext as _

from scheduling.models import Capability
from scheduling.selectors import Calendar
from scheduling.selectors.calendar import Ribbon, Row, Taken
from scheduling.selectors.floor import Climate
from shop.models import JobState, OperationKind, OperationState
from shop.web import show

# A vehicle a few minutes behind its time is no trouble yet.
GRACE: Final = timedelta(minutes=15)
UNFINISHED: Final = frozenset({JobState.ON_SITE, JobState.IN_WORK, JobState.CURING})
# Climate of now says nothing about a coat that is further off.
CLIMATE_AHEAD: Final = timedelta(hours=12)


@dataclass(frozen=True)
class Trouble:
    """One thing at risk: ``stop`` where a promise is broken, ``watch`` where one may be."""

    kind: str
    what: str
    said: str
    job_id: int
    number: str
    vehicle: str

    @property
    def mark(self) -> str:
        """Mark beside the colour."""
        return "×" if self.kind == "stop" else "!"


def troubles_of(
    calendar: Calendar, climate: Mapping[int, Climate], tz: tzinfo, now: datetime
) -> list[Trouble]:
    """Return what is at risk, broken promises first.

    Parameters
    ----------
    climate
        The last reading of each bay, by the key of its resource.
    """
    rows = (*calendar.bays, *calendar.parking)
    found = [*_by_job(rows, tz, now), *_overruns(rows, tz, now)]
    found += _climate(calendar.bays, climate, now)
    found += _away(calendar, tz, now)
    return sorted(found, key=lambda trouble: (trouble.kind != "stop", trouble.number))


def _by_job(rows: Iterable[Row], tz: tzinfo, now: datetime) -> Iterator[Trouble]:
    last: dict[int, Ribbon] = {}
    for row in rows:
        for ribbon in row.ribbons:
            if ribbon.job_id not in last or ribbon.end > last[ribbon.job_id].end:
                last[ribbon.job_id] = ribbon
    for ribbon in last.values():
        trouble = _promise(ribbon, tz, now) or _not_come(ribbon, tz, now)
        if trouble is not None:
            yield trouble


def _promise(ribbon: Ribbon, tz: tzinfo, now: datetime) -> Trouble | None:
    if ribbon.promised_at is None or ribbon.state not in UNFINISHED | {JobState.BOOKED}:
        return None
    promised = show.when_text(ribbon.promised_at, tz, now)
    if ribbon.promised_at < now:
        return _trouble(
            "stop", _("Promise passed"), _("promised %s and not ready") % promised, ribbon
        )
    if not ribbon.late:
        return _unsure(ribbon, promised)
    said = _("work is planned to end after %s, which was promised") % promised
    return _trouble("stop", _("Late against the promise"), said, ribbon)


def _unsure(ribbon: Ribbon, promised: str) -> Trouble | None:
    if ribbon.sure is None:
        return None
    words = {"when": promised, "sure": show.sure_text(ribbon.sure)}
    said = _("promised %(when)s, but only %(sure)s") % words
    return _trouble("watch", _("Promise may not hold"), said, ribbon)


def _not_come(ribbon: Ribbon, tz: tzinfo, now: datetime) -> Trouble | None:
    if ribbon.state != JobState.BOOKED or ribbon.arrives_at is None:
        return None
    if ribbon.arrives_at + GRACE > now:
        return None
    said = _("expected %s") % show.when_text(ribbon.arrives_at, tz, now)
    return _trouble("watch", _("Not here yet"), said, ribbon)


def _overruns(rows: Iterable[Row], tz: tzinfo, now: datetime) -> Iterator[Trouble]:
    for row in rows:
        for ribbon in row.ribbons:
            for work in ribbon.work:
                late = now - work.end
                running = work.state in (OperationState.RUNNING, OperationState.PAUSED)
                if not running or late <= GRACE or work.kind == OperationKind.CURE:
                    continue
                words = {
                    "work": work.name,
                    "bay": row.resource.name,
                    "end": show.when_text(work.end, tz, now),
                }
                said = _("%(work)s, %(bay)s: planned to end %(end)s") % words
                following = next((r for r in row.ribbons if r.start >= ribbon.end), None)
                if following is not None:
                    next_words = {
                        "number": following.number,
                        "when": show.when_text(following.start, tz, now),
                    }
                    said += _("; %(number)s comes next there, %(when)s") % next_words
                yield _trouble("watch", _("Work runs over"), said, ribbon)


def _away(calendar: Calendar, tz: tzinfo, now: datetime) -> Iterator[Trouble]:
    """Whoever and whatever is kept for a vehicle while it is not there."""
    ribbons = {
        ribbon.job_id: ribbon
        for row in (*calendar.bays, *calendar.parking)
        for ribbon in row.ribbons
    }
    for row in (*calendar.bays, *calendar.parking, *calendar.crew, *calendar.lamps):
        seen = set()
        kept_for: list[Ribbon | Taken] = [*row.ribbons, *row.taken]
        for kept in kept_for:
            away = any(
                span.start < kept.end and kept.start < span.end and span.end > now
                for span in row.away
            )
            if not away or kept.end <= now or kept.job_id in seen or kept.job_id not in ribbons:
                continue
            seen.add(kept.job_id)
            words = {"what": row.resource.name, "when": show.when_text(kept.start, tz, now)}
            said = _("%(what)s is not there, but planned %(when)s") % words
            why = next((span.reason for span in row.away if span.end > kept.start), "")
            said += f" ({why})" if why else ""
            yield _trouble("stop", _("Cannot be done as planned"), said, ribbons[kept.job_id])


def _climate(
    bays: Iterable[Row], climate: Mapping[int, Climate], now: datetime
) -> Iterator[Trouble]:
    for row in bays:
        read = climate.get(row.resource.pk)
        if read is None or read.stale or read.verdict.allowed:
            continue
        if Capability.COATING not in row.resource.capabilities:
            continue
        for ribbon in row.ribbons:
            if any(_coats_soon(work.kind, work.state, work.start, now) for work in ribbon.work):
                said = f"{row.resource.name}: {read.verdict.reasons[0]}"
                yield _trouble("watch", _("Climate is wrong for coating"), said, ribbon)


def _coats_soon(kind: str, state: str, start: datetime, now: datetime) -> bool:
    if kind != OperationKind.COATING or state == OperationState.DONE:
        return False
    return start - CLIMATE_AHEAD <= now


def _trouble(kind: str, what: str, said: str, ribbon: Ribbon) -> Trouble:
    return Trouble(kind, what, said, ribbon.job_id, ribbon.number, ribbon.vehicle)
