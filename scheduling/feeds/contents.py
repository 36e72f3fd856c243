"""What stands in a feed's calendar now, read from the holds and the job."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any, Final

from django.utils.translation import gettext as _

from scheduling.models import CalendarFeed, CalendarPolicy, FeedKind, Hold, ResourceKind
from shop.models import Job, JobState

PAST: Final = timedelta(days=30)
"""How far back a feed reaches, and how long it goes on saying that something was cancelled."""
MOST: Final = 5000
"""Holds of one feed; far above what one bay or person has in two years."""
_AT_THE_DESK: Final = timedelta(minutes=15)
"""Shown for handing over a vehicle. Common practice, no source."""
_TAKES_PLACE: Final = frozenset(JobState) - {
    JobState.ENQUIRY,
    JobState.QUOTED,
    JobState.CANCELLED,
    JobState.NO_SHOW,
}


@dataclass(frozen=True)
class Said:
    """One entry: ``key`` stays the same while it moves."""

    key: str
    start: datetime
    end: datetime
    summary: str
    place: str = ""
    description: str = ""


@dataclass(frozen=True)
class Window:
    """What a feed covers, ``[since, until)``."""

    since: datetime
    until: datetime

    def shows(self, start: datetime, end: datetime) -> bool:
        return start < self.until and self.since < end


@dataclass(frozen=True)
class Contents:
    """Everything in the window, and the window: shorter than asked for where it is too much."""

    window: Window
    entries: tuple[Said, ...]


def feed_window(feed: CalendarFeed, now: datetime) -> Window:
    """Return the window of a shop: thirty days back, its booking horizon ahead."""
    policy = CalendarPolicy.objects.filter(shop=feed.shop_id).first() or CalendarPolicy()
    return Window(now - PAST, now + timedelta(days=policy.horizon_days))


def feed_contents(feed: CalendarFeed, window: Window) -> Contents:
    """Return what stands in the feed's calendar, in at most two queries."""
    if feed.kind == FeedKind.VISIT:
        assert feed.job is not None
        entries: Iterable[Said] = _visit(feed.job)
    else:
        holds = _holds(feed, window)
        if len(holds) > MOST:
            window = replace(window, until=holds[MOST].start)
        read = _stays if feed.kind == FeedKind.BAY else _pieces
        entries = read(holds[:MOST])
    shown = (one for one in entries if window.shows(one.start, one.end))
    return Contents(window, tuple(sorted(shown, key=lambda one: (one.start, one.key))))


def _holds(feed: CalendarFeed, window: Window) -> list[Hold]:
    """Every hold of the jobs in the window, so that pieces keep their number as time passes."""
    mine = Hold.objects.filter(shop=feed.shop_id, resource=feed.resource_id, job__isnull=False)
    jobs = mine.filter(start__lt=window.until, end__gt=window.since).values("job")
    rows = mine.filter(job__in=jobs).select_related("job__vehicle", "operation", "resource")
    return list(rows.order_by("start", "pk")[: MOST + 1])


def _stays(holds: list[Hold]) -> Iterator[Said]:
    """A bay: one entry for each stay of a vehicle, work and waiting together."""
    for job_id, rows in _grouped(holds, lambda hold: hold.booked_job_id):
        for number, (start, end, hold) in enumerate(_joined(rows)):
            yield Said(
                key=f"job-{job_id}-stay-{number}",
                start=start,
                end=end,
                summary=_vehicle(hold.booked_job),
                place=hold.resource.name,
                description=f"{hold.booked_job.number}: {hold.booked_job.title}",
            )


def _pieces(holds: list[Hold]) -> Iterator[Said]:
    """A technician: one entry for each stretch of work on an operation, and where it is done."""
    places = _Places({hold.booked_job_id for hold in holds})
    for (job_id, operation_id), rows in _grouped(
        holds, lambda hold: (hold.booked_job_id, hold.operation_id)
    ):
        for number, (start, end, hold) in enumerate(_joined(rows)):
            work = hold.operation.name if hold.operation else hold.booked_job.title
            yield Said(
                key=f"job-{job_id}-work-{operation_id or 0}-{number}",
                start=start,
                end=end,
                summary=f"{work}: {_vehicle(hold.booked_job)}",
                place=places.at(job_id, start),
                description=f"{hold.booked_job.number}: {hold.booked_job.title}",
            )


def _visit(job: Job) -> Iterator[Said]:
    """A customer: when to bring the vehicle and when to fetch it."""
    if job.state not in _TAKES_PLACE or job.arrives_at is None:
        return
    shop = job.shop
    names = {"vehicle": job.vehicle.description, "shop": shop.name}
    about = "\n".join(filter(None, (f"{shop.name}, {job.number}", shop.phone or shop.email)))
    collect = job.promised_at or job.ready_at
    for key, at, text in (
        ("arrive", job.arrives_at, _("Bring your %(vehicle)s to %(shop)s")),
        ("collect", collect, _("Collect your %(vehicle)s from %(shop)s")),
    ):
        if at is not None:
            end = at + _AT_THE_DESK
            yield Said(f"job-{job.pk}-{key}", at, end, text % names, shop.address, about)


class _Places:
    """In which bay a vehicle stands at a moment."""

    def __init__(self, jobs: set[int]) -> None:
        rows = Hold.objects.filter(job__in=jobs, resource__kind=ResourceKind.BAY)
        self._stays: dict[int, list[tuple[datetime, datetime, str]]] = defaultdict(list)
        found = rows.order_by("start").values_list("job", "start", "end", "resource__name")
        for job, start, end, name in found:
            self._stays[job].append((start, end, name))

    def at(self, job: int, moment: datetime) -> str:
        """Return the bay's name, or nothing."""
        stays = self._stays[job]
        place = bisect_right(stays, moment, key=lambda stay: stay[0]) - 1
        return stays[place][2] if place >= 0 and moment < stays[place][1] else ""


def _grouped(holds: Iterable[Hold], key: Any) -> Iterable[tuple[Any, list[Hold]]]:
    groups: dict[Any, list[Hold]] = defaultdict(list)
    for hold in holds:
        groups[key(hold)].append(hold)
    return groups.items()


def _joined(rows: list[Hold]) -> Iterator[tuple[datetime, datetime, Hold]]:
    """Join holds that follow without a gap; each with its first row."""
    first, end = rows[0], rows[0].end
    for row in rows[1:]:
        if row.start > end:
            yield first.start, end, first
            first = row
        end = max(end, row.end)
    yield first.start, end, first


def _vehicle(job: Job) -> str:
    plate = job.vehicle.plate
    return f"{job.vehicle.description}, {plate}" if plate else job.vehicle.description
