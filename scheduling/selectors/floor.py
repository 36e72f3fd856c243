"""Today on the floor: what stands where, who works on what, how cures and climate are."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta

from django.db.models import Exists, OuterRef, Q, Subquery

from scheduling.core.climate import ClimateVerdict
from scheduling.core.worktime import instant_of
from scheduling.models import ClimateReading, Cure, Hold, LampRun, Resource, ResourceKind
from scheduling.services.climate import reading_verdict
from scheduling.services.product_limits import COATING, ProductLimits, limits_quoted
from shop.models import (
    Job,
    JobState,
    Member,
    Operation,
    OperationState,
    Shop,
    WorkEntry,
)

HERE = (JobState.ON_SITE, JobState.IN_WORK, JobState.CURING, JobState.READY)


@dataclass(frozen=True)
class AtWork:
    """A person on an operation since a moment."""

    member: Member
    since: datetime


@dataclass(frozen=True)
class CureClock:
    """A running cure; ``share`` is elapsed time over forecast time, for the picture."""

    cure: Cure
    share: float
    done: bool
    lamp_on: bool = False


@dataclass(frozen=True)
class Standing:
    """One vehicle that is here: its work in hand, who is on it, what is next."""

    job: Job
    running: tuple[Operation, ...]
    at_work: tuple[AtWork, ...]
    next: Operation | None
    cure: CureClock | None
    overdue: bool


@dataclass(frozen=True)
class Climate:
    """The last reading of a bay and what it means for coating."""

    reading: ClimateReading
    verdict: ClimateVerdict
    stale: bool
    product: str = ""
    """Whose limits were judged by; without one the 3 °C rule and 85 %."""


@dataclass(frozen=True)
class BayCard:
    """One bay or spot: the vehicle in it, the vehicle expected next, its climate."""

    resource: Resource
    standing: Standing | None
    expected: Hold | None
    climate: Climate | None


@dataclass(frozen=True)
class CrewCard:
    """One technician: at work on what, kept for what now, and for what next."""

    resource: Resource
    working: WorkEntry | None
    now: Hold | None
    next: Hold | None


@dataclass(frozen=True)
class Floor:
    """Everything that matters today.

    ``arrivals`` are booked vehicles expected until midnight, or overdue; ``elsewhere``
    are vehicles here for which no place is kept any more.
    """

    now: datetime
    bays: tuple[BayCard, ...]
    parking: tuple[BayCard, ...]
    crew: tuple[CrewCard, ...]
    arrivals: tuple[Job, ...]
    elsewhere: tuple[Standing, ...]


STALE_AFTER = timedelta(hours=6)
"""A reading older than this says little about now (common practice, no source)."""


def floor_today(shop: Shop, now: datetime) -> Floor:
    """Return the floor as it is at ``now``, in seven queries."""
    midnight = instant_of(now.astimezone(shop.tz).date() + timedelta(days=1), time(), shop.tz)
    units = list(Resource.objects.of(shop).filter(active=True).order_by("position", "pk"))
    jobs = list(
        Job.objects.of(shop)
        .filter(Q(state__in=HERE) | Q(state=JobState.BOOKED, arrives_at__lt=midnight))
        .select_related("vehicle", "customer")
        .annotate(**COATING)
        .order_by("arrives_at", "pk")
    )
    limits = {job.pk: limits_quoted(job) for job in jobs}
    holds = list(
        Hold.objects.of(shop)
        .filter(end__gt=now, start__lt=midnight, job__isnull=False)
        .select_related("job__vehicle", "operation")
        .order_by("start", "pk")
    )
    here = [job for job in jobs if job.state in HERE]
    standing = _standing(here, now)
    climate = climate_latest(shop, now)
    entries = {entry.member_id: entry for one in standing.values() for entry in one.entries}
    cards: dict[str, list[BayCard]] = {ResourceKind.BAY: [], ResourceKind.PARKING: []}
    placed: set[int] = set()
    for unit in units:
        if unit.kind in cards:
            card = _by_product(_card(unit, holds, standing, climate, now), limits)
            cards[unit.kind].append(card)
            if card.standing is not None:
                placed.add(card.standing.job.pk)
    return Floor(
        now=now,
        bays=tuple(cards[ResourceKind.BAY]),
        parking=tuple(cards[ResourceKind.PARKING]),
        crew=tuple(
            _crew(unit, holds, entries, now)
            for unit in units
            if unit.kind == ResourceKind.TECHNICIAN
        ),
        arrivals=tuple(job for job in jobs if job.state == JobState.BOOKED),
        elsewhere=tuple(one.standing for key, one in standing.items() if key not in placed),
    )


@dataclass(frozen=True)
class _Here:
    standing: Standing
    entries: tuple[WorkEntry, ...]


def _standing(jobs: Sequence[Job], now: datetime) -> dict[int, _Here]:
    """What is going on with each vehicle that is here, in three queries."""
    keys = [job.pk for job in jobs]
    operations: dict[int, list[Operation]] = defaultdict(list)
    rows = Operation.objects.filter(job__in=keys).exclude(state=OperationState.DONE)
    for row in rows.order_by("job_id", "sequence"):
        operations[row.job_id].append(row)
    entries: dict[int, list[WorkEntry]] = defaultdict(list)
    open_entries = WorkEntry.objects.filter(
        operation__job__in=keys, ended_at__isnull=True
    ).select_related("member", "operation__job__vehicle")
    for entry in open_entries.order_by("started_at"):
        entries[entry.operation.job_id].append(entry)
    lamps = LampRun.objects.filter(cure=OuterRef("pk"), ended_at__isnull=True)
    cures = {
        cure.job_id: cure
        for cure in Cure.objects.filter(job__in=keys)
        .select_related("operation")
        .annotate(lamp_on=Exists(lamps))
    }
    found = {}
    for job in jobs:
        left = operations.get(job.pk, [])
        begun = (OperationState.RUNNING, OperationState.PAUSED)
        standing = Standing(
            job=job,
            running=tuple(row for row in left if row.state in begun),
            at_work=tuple(AtWork(one.member, one.started_at) for one in entries.get(job.pk, ())),
            next=next((row for row in left if row.state == OperationState.PLANNED), None),
            cure=_clock(cures.get(job.pk), now),
            overdue=job.promised_at is not None
            and job.promised_at < now
            and job.state != JobState.READY,
        )
        found[job.pk] = _Here(standing, tuple(entries.get(job.pk, ())))
    return found


def _clock(cure: Cure | None, now: datetime) -> CureClock | None:
    if cure is None:
        return None
    whole = cure.forecast_handover_at - cure.started_at
    share = min(1.0, max(0.0, (now - cure.started_at) / whole)) if whole else 1.0
    done = cure.forecast_handover_at <= now
    return CureClock(cure, share, done, lamp_on=bool(getattr(cure, "lamp_on", False)))


def climate_latest(shop: Shop, now: datetime) -> dict[int, Climate]:
    """The last reading of every bay in one query."""
    newest = ClimateReading.objects.filter(resource=OuterRef("resource"), at__lte=now)
    rows = ClimateReading.objects.of(shop).filter(
        at=Subquery(newest.order_by("-at").values("at")[:1])
    )
    return {
        row.resource_id: Climate(row, reading_verdict(row), stale=now - row.at > STALE_AFTER)
        for row in rows
    }


def _card(
    unit: Resource,
    holds: Sequence[Hold],
    standing: dict[int, _Here],
    climate: dict[int, Climate],
    now: datetime,
) -> BayCard:
    mine = [hold for hold in holds if hold.resource_id == unit.pk]
    current = next(
        (hold for hold in mine if hold.start <= now and hold.booked_job_id in standing), None
    )
    expected = next((hold for hold in mine if hold is not current), None)
    return BayCard(
        resource=unit,
        standing=standing[current.booked_job_id].standing if current is not None else None,
        expected=expected,
        climate=climate.get(unit.pk),
    )


def _by_product(card: BayCard, limits: Mapping[int, ProductLimits | None]) -> BayCard:
    """The card with its climate judged for the coating of the vehicle there, or expected."""
    if card.standing is not None:
        found = limits.get(card.standing.job.pk)
    else:
        found = limits.get(card.expected.booked_job_id) if card.expected is not None else None
    if found is None or card.climate is None:
        return card
    verdict = reading_verdict(card.climate.reading, found.limits)
    return replace(card, climate=replace(card.climate, verdict=verdict, product=found.name))


def _crew(
    unit: Resource, holds: Sequence[Hold], entries: dict[int, WorkEntry], now: datetime
) -> CrewCard:
    mine = [hold for hold in holds if hold.resource_id == unit.pk]
    member = unit.member_id
    return CrewCard(
        resource=unit,
        working=entries.get(member) if member is not None else None,
        now=next((hold for hold in mine if hold.start <= now), None),
        next=next((hold for hold in mine if hold.start > now), None),
    )
