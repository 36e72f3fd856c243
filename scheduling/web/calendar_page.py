"""The calendar's reading turned into what its page shows: picture, list by day, trouble."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, tzinfo
from typing import Final

from django.utils import formats
from django.utils.translation import gettext as _

from scheduling.core.worktime import Span
from scheduling.selectors import Calendar
from scheduling.selectors.calendar import Away as AwayRead
from scheduling.selectors.calendar import KeptFor
from scheduling.selectors.calendar import Ribbon as StayRead
from scheduling.selectors.calendar import Row as RowRead
from scheduling.selectors.calendar import Stretch as WorkRead
from scheduling.web.ribbons import Picture, Stay, Stretch, Visit, picture_make
from scheduling.web.rows import Away, Times, Unit, percent
from scheduling.web.timeaxis import Axis, Day, Window, axis_make
from shop.models import JobState
from shop.web import show

Moments = tuple[datetime, datetime]

# Of a day with more lines than this only comings and goings are listed, then their number.
MOST_LINES_A_DAY: Final = 40
# A narrower day has no room for the month.
WIDE_DAY_PERCENT: Final = 8
NARROW_DAY_PERCENT: Final = 5
NOT_OVER: Final = frozenset({JobState.BOOKED, JobState.ON_SITE, JobState.IN_WORK, JobState.CURING})


@dataclass(frozen=True)
class TickShown:
    """An hour mark."""

    x: str
    label: str


@dataclass(frozen=True)
class DayShown:
    """A day's heading and its closed hours, across in percent."""

    x: str
    width: str
    label: str
    today: bool
    closed: bool
    why: str
    before: str
    shut_x: str
    after: str
    ticks: tuple[TickShown, ...]


@dataclass(frozen=True)
class Entry:
    """A line of the list by day; without ``kinds`` of work it is a coming or going."""

    at: datetime
    what: str
    visit: Visit
    kinds: tuple[str, ...] = ()
    where: str = ""


@dataclass(frozen=True)
class AgendaDay:
    """One day of the list."""

    day: date
    label: str
    today: bool
    closed: str
    entries: tuple[Entry, ...]
    left_out: int = 0


@dataclass(frozen=True)
class CalendarPage:
    """Everything that the page shows besides its trouble; ``spare`` are spots nobody needs."""

    picture: Picture
    days: tuple[DayShown, ...]
    agenda: tuple[AgendaDay, ...]
    spare: tuple[str, ...]

    @property
    def empty(self) -> bool:
        """Whether nothing is booked in the days shown."""
        return not self.picture.ribbons


def calendar_page(calendar: Calendar, tz: tzinfo, now: datetime) -> CalendarPage:
    """Return the page of ``calendar`` as it is at ``now``."""
    axis = _axis(calendar, tz)
    visits = _visits((*calendar.bays, *calendar.parking), tz, now)
    # A spot that stays empty says nothing; it is named below the picture.
    parking = [row for row in calendar.parking if row.ribbons or row.away or row.kept]
    reasons = {closed.day: closed.reason for closed in calendar.closures}
    picture = picture_make(
        axis=axis,
        units=[
            Unit(row.resource.pk, row.resource.kind, row.resource.name)
            for row in (*calendar.bays, *parking, *calendar.crew, *calendar.lamps)
        ],
        visits=visits,
        times=_times(calendar, tz, now),
        now=now,
    )
    return CalendarPage(
        picture=picture,
        days=tuple(_day_shown(day, reasons.get(day.day, ""), tz, now) for day in axis.days),
        agenda=_agenda(calendar, visits, tz, now),
        spare=tuple(row.resource.name for row in calendar.parking if row not in parking),
    )


def _times(calendar: Calendar, tz: tzinfo, now: datetime) -> Times:
    rows = (*calendar.bays, *calendar.parking, *calendar.crew, *calendar.lamps)

    def moments(name: str) -> dict[int, list[tuple[datetime, datetime]]]:
        return {row.resource.pk: [(s.start, s.end) for s in getattr(row, name)] for row in rows}

    return Times(
        there=moments("there"),
        taken=moments("taken"),
        overtime=moments("overtime"),
        away={
            row.resource.pk: [
                *(_away(row, away, tz) for away in row.away),
                *(_kept(row, kept, tz) for kept in row.kept if kept.until > now),
            ]
            for row in rows
        },
    )


def _away(row: RowRead, away: AwayRead, tz: tzinfo) -> Away:
    """What is said of an absence where it cannot be seen, and inside of it."""
    words = {
        "what": row.resource.name,
        "why": away.reason or _("no reason noted"),
        "from": show.when_text(away.start, tz),
        "until": show.when_text(away.end, tz),
    }
    label = _("%(what)s is not there, %(from)s to %(until)s: %(why)s") % words
    return Away(away.start, away.end, label, away.reason or _("not there"))


def _kept(row: RowRead, kept: KeptFor, tz: tzinfo) -> Away:
    """What is said of a stretch that a caller is thinking about."""
    words = {
        "what": row.resource.name,
        "caller": kept.caller or _("a caller"),
        "until": show.when_text(kept.until, tz),
    }
    label = _("%(what)s is kept for %(caller)s until %(until)s") % words
    return Away(kept.start, kept.end, label, _("kept for %(caller)s") % words)


def aways_of(calendar: Calendar, now: datetime) -> list[tuple[str, AwayRead]]:
    """Return who and what is away in the days shown and not back yet, in order of time."""
    rows = (*calendar.bays, *calendar.parking, *calendar.crew, *calendar.lamps)
    found = [(row.resource.name, away) for row in rows for away in row.away if away.end > now]
    return sorted(found, key=lambda pair: pair[1].start)


def _axis(calendar: Calendar, tz: tzinfo) -> Axis:
    """The axis by what is really open on each day, so that closures are narrow."""
    hours: dict[int, list[Window]] = defaultdict(list)
    opened = set()
    for span in calendar.opening:
        start, end = span.start.astimezone(tz), span.end.astimezone(tz)
        if end.time() > start.time():
            hours[start.weekday()].append((start.time(), end.time()))
            opened.add(start.date())
    closed = [day for day in calendar.days if day not in opened]
    return axis_make(
        first_day=calendar.days[0],
        days=len(calendar.days),
        zone=tz,
        hours=hours,
        closed=closed,
    )


def _visits(rows: Sequence[RowRead], tz: tzinfo, now: datetime) -> tuple[Visit, ...]:
    of_job: dict[int, list[tuple[int, StayRead]]] = defaultdict(list)
    for row in rows:
        for ribbon in row.ribbons:
            of_job[ribbon.job_id].append((row.resource.pk, ribbon))
    names = {row.resource.pk: row.resource.name for row in rows}
    visits = [_visit(key, stays, names, tz, now) for key, stays in of_job.items()]
    # In the order in which vehicles come, which is also that of the tab key.
    return tuple(sorted(visits, key=lambda visit: (visit.stays[0].start, visit.number)))


def _visit(
    key: int,
    read: Sequence[tuple[int, StayRead]],
    names: dict[int, str],
    tz: tzinfo,
    now: datetime,
) -> Visit:
    read = sorted(read, key=lambda pair: pair[1].start)
    one = read[0][1]
    late = one.late or _past_promise(one, now)
    return Visit(
        key=key,
        number=one.number,
        vehicle=one.vehicle,
        customer=one.customer,
        state=one.state,
        stays=tuple(Stay(unit, stay.start, stay.end) for unit, stay in read),
        stretches=tuple(
            Stretch(work.kind, work.name, work.state, start, end, names[unit], window)
            for unit, stay in read
            for work in stay.work
            for start, end, window in _when_done(work)
        ),
        arrives_at=one.arrives_at,
        promised_at=one.promised_at,
        late=late,
        free=one.state == JobState.BOOKED and one.arrives_at is not None,
        unsure=not late and one.sure is not None and one.state in NOT_OVER,
        label=_label(one, read[-1][1].end, late, tz),
    )


def _when_done(work: WorkRead) -> list[tuple[datetime, datetime, Moments | None]]:
    """Stretches of work: those of the people, or the whole where nobody is needed.

    The first has the window in which the work may begin.
    """
    window = (work.window.start, work.window.end) if work.window else None
    spans = work.pieces or (Span(work.start, work.end),)
    return [(s.start, s.end, None if n else window) for n, s in enumerate(spans)]


def _past_promise(one: StayRead, now: datetime) -> bool:
    return one.state in NOT_OVER and one.promised_at is not None and one.promised_at < now


def _label(one: StayRead, leaves: datetime, late: bool, tz: tzinfo) -> str:
    """What a ribbon is called where it cannot be seen."""
    words = {
        "number": one.number,
        "vehicle": one.vehicle,
        "state": str(JobState(one.state).label).lower(),
        "from": show.when_text(one.arrives_at or one.start, tz),
        "until": show.when_text(one.promised_at or leaves, tz),
    }
    said = _("%(number)s, %(vehicle)s, %(state)s: %(from)s to %(until)s") % words
    if late:
        return _("%s, late") % said
    if one.sure is not None and one.state in NOT_OVER:
        return _("%(said)s, only %(sure)s") % {"said": said, "sure": show.sure_text(one.sure)}
    return said


def _day_shown(day: Day, why: str, tz: tzinfo, now: datetime) -> DayShown:
    open_x = day.x if day.open_x is None else day.open_x
    shut = open_x + day.open_width
    return DayShown(
        x=percent(day.x),
        width=percent(day.width),
        label=formats.date_format(day.day, _day_format(day.width)),
        today=day.day == now.astimezone(tz).date(),
        closed=day.open_x is None,
        why=why,
        before=percent(open_x - day.x),
        shut_x=percent(shut),
        after=percent(day.x + day.width - shut),
        ticks=tuple(
            TickShown(percent(t.x), formats.date_format(t.at.astimezone(tz), "G"))
            for t in day.ticks
        ),
    )


def _day_format(width: float) -> str:
    """As much of a day's name as fits into so many percent."""
    if width >= WIDE_DAY_PERCENT:
        return "D j M"
    return "D j" if width >= NARROW_DAY_PERCENT else "D"


def _agenda(
    calendar: Calendar, visits: Iterable[Visit], tz: tzinfo, now: datetime
) -> tuple[AgendaDay, ...]:
    of_day: dict[date, list[Entry]] = defaultdict(list)
    for visit in visits:
        for entry in _entries(visit, tz):
            of_day[entry.at.astimezone(tz).date()].append(entry)
    reasons = {closed.day: closed.reason for closed in calendar.closures}
    # A day that is shown alone is shown whole.
    most = MOST_LINES_A_DAY if len(calendar.days) > 1 else None
    return tuple(
        AgendaDay(
            day=day,
            label=show.day_text(datetime.combine(day, time(12), tzinfo=tz), tz, now),
            today=day == now.astimezone(tz).date(),
            closed=reasons.get(day, ""),
            entries=(shown := _bounded(of_day[day], most)),
            left_out=len(of_day[day]) - len(shown),
        )
        for day in calendar.days
    )


def _bounded(entries: Iterable[Entry], most: int | None) -> tuple[Entry, ...]:
    entries = sorted(entries, key=lambda entry: entry.at)
    if most is None or len(entries) <= most:
        return tuple(entries)
    return tuple([entry for entry in entries if not entry.kinds][:most])


def _entries(visit: Visit, tz: tzinfo) -> list[Entry]:
    """Coming and going, and the work of each day in each place as one line."""
    found = []
    if visit.arrives_at is not None:
        found.append(Entry(visit.arrives_at, _("Drop-off"), visit))
    of_place: dict[tuple[date, str], list[Stretch]] = defaultdict(list)
    for stretch in visit.stretches:
        of_place[stretch.start.astimezone(tz).date(), stretch.where].append(stretch)
    for (_day, where), work in of_place.items():
        work.sort(key=lambda stretch: stretch.start)
        kinds = tuple(dict.fromkeys(stretch.kind for stretch in work))
        names = ", ".join(dict.fromkeys(stretch.name for stretch in work))
        found.append(Entry(work[0].start, names, visit, kinds, where))
    if visit.promised_at is not None:
        found.append(Entry(visit.promised_at, _("Pick-up promised"), visit))
    return found
