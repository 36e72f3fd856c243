"""Some days of a shop's calendar as plain values for drawing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from django.db.models import Prefetch, prefetch_related_objects

from scheduling.core import worktime
from scheduling.core.worktime import Span
from scheduling.models import Absence, Hold, Resource, ResourceKind
from scheduling.selectors.calendar_stamp import stamp_parts
from shop.closed_days import closed_days
from shop.models import Job, OpeningHours, Operation, OperationKind, OperationState, Shop


@dataclass(frozen=True)
class Stretch:
    """One operation inside a ribbon; ``pieces`` are the stretches of work of its crew."""

    operation_id: int
    sequence: int
    kind: str
    name: str
    state: str
    start: datetime
    end: datetime
    pieces: tuple[Span, ...]
    window: Span | None = None
    """Of a coat after another: when it may begin, from what is planned or was done before it."""


@dataclass(frozen=True)
class Ribbon:
    """One vehicle's stay in one bay or spot, with the work that is done there."""

    job_id: int
    number: str
    title: str
    vehicle: str
    customer: str
    state: str
    purpose: str
    start: datetime
    end: datetime
    arrives_at: datetime | None
    promised_at: datetime | None
    late: bool
    work: tuple[Stretch, ...]
    sure: Decimal | None = None
    """Probability of the promise, where it is lower than the shop wants its promises."""


@dataclass(frozen=True)
class Taken:
    """A stretch in which a person or a lamp is kept for a job."""

    job_id: int
    number: str
    operation: str
    start: datetime
    end: datetime


@dataclass(frozen=True)
class Away:
    """A stretch in which a resource is not there, and why."""

    key: int
    start: datetime
    end: datetime
    reason: str


@dataclass(frozen=True)
class KeptFor:
    """A stretch in which a resource is kept for a caller, and until when it is."""

    start: datetime
    end: datetime
    caller: str
    until: datetime


@dataclass(frozen=True)
class Row:
    """A bay or parking spot with its ribbons, or a person or lamp with its load.

    ``there`` are the stretches in which a person works, ``overtime`` those in which they would
    for extra pay; ``away`` the absences of the resource; ``kept`` what callers are thinking about.
    """

    resource: Resource
    ribbons: tuple[Ribbon, ...] = ()
    taken: tuple[Taken, ...] = ()
    there: tuple[Span, ...] = ()
    overtime: tuple[Span, ...] = ()
    away: tuple[Away, ...] = ()
    kept: tuple[KeptFor, ...] = ()


@dataclass(frozen=True)
class ClosedDay:
    """A day on which the shop is closed, and why."""

    day: date
    reason: str


@dataclass(frozen=True)
class Calendar:
    """Rows by kind in the shop's order; everything overlaps ``[start, end)``, in UTC."""

    start: datetime
    end: datetime
    days: tuple[date, ...]
    bays: tuple[Row, ...]
    parking: tuple[Row, ...]
    crew: tuple[Row, ...]
    lamps: tuple[Row, ...]
    opening: tuple[Span, ...]
    closures: tuple[ClosedDay, ...]
    units: tuple[Resource, ...]
    """All that are in use; annotated with what :func:`stamp_text` wants."""


def calendar_week(shop: Shop, first_day: date, days: int = 7) -> Calendar:
    """Return ``days`` days of the shop's calendar from ``first_day`` on, in seven queries.

    Days are those of the shop's zone: one with a clock change has 23 or 25 hours.
    """
    last_day = first_day + timedelta(days=days - 1)
    start = worktime.instant_of(first_day, time(), shop.tz)
    end = worktime.instant_of(last_day + timedelta(days=1), time(), shop.tz)
    resources = Resource.objects.of(shop).filter(active=True).order_by("position", "pk")
    units = list(resources.annotate(**stamp_parts(shop)))
    absences = Absence.objects.filter(start__lt=end, end__gt=start)
    prefetch_related_objects(units, "shifts", Prefetch("absences", absences))
    every = (
        Hold.objects.of(shop)
        .filter(start__lt=end, end__gt=start)
        .select_related("job__vehicle", "job__customer", "operation", "resource", "kept")
        .order_by("start", "pk")
    )
    holds: list[Hold] = []
    kept: list[Hold] = []
    for hold in every:
        (holds if hold.kept is None else kept).append(hold)
    operations = Operation.objects.filter(
        job__in={hold.booked_job_id for hold in holds}, planned_start__isnull=False
    ).order_by("job_id", "sequence")
    closures = tuple(
        ClosedDay(day, reason) for day, reason in closed_days(shop, first_day, last_day).items()
    )
    opening = tuple(
        worktime.shift_spans(
            (worktime.Shift(row.weekday, row.opens, row.closes) for row in _opening(shop)),
            shop.tz,
            first_day,
            last_day,
            closed_days=[closed.day for closed in closures],
        )
    )
    frame = _Frame(shop, first_day, last_day, [closed.day for closed in closures])
    rows = _rows(units, holds, list(operations), frame, _kept(kept))
    return Calendar(
        start=start,
        end=end,
        days=tuple(first_day + timedelta(days=n) for n in range(days)),
        bays=rows[ResourceKind.BAY],
        parking=rows[ResourceKind.PARKING],
        crew=rows[ResourceKind.TECHNICIAN],
        lamps=rows[ResourceKind.LAMP],
        opening=opening,
        closures=closures,
        units=tuple(units),
    )


@dataclass(frozen=True)
class _Frame:
    shop: Shop
    first_day: date
    last_day: date
    closed: Sequence[date]

    def there(self, unit: Resource) -> tuple[Span, ...]:
        shifts = [row.as_core() for row in unit.shifts.all() if not row.is_overtime]
        return self._spans(unit, shifts, self.closed)

    def overtime(self, unit: Resource) -> tuple[Span, ...]:
        """On closed days as well: somebody agreed to come in."""
        shifts = [row.as_core() for row in unit.shifts.all() if row.is_overtime]
        if not shifts:
            return ()
        longer = [(span.start, span.end) for span in self._spans(unit, shifts, ())]
        usual = [(span.start, span.end) for span in self.there(unit)]
        return tuple(Span(start, end) for start, end in worktime.cut(longer, usual))

    def _spans(
        self, unit: Resource, shifts: Iterable[worktime.Shift], closed: Sequence[date]
    ) -> tuple[Span, ...]:
        return tuple(
            worktime.shift_spans(
                shifts,
                self.shop.tz,
                self.first_day,
                self.last_day,
                closed_days=closed,
                closed_spans=[Span(row.start, row.end) for row in unit.absences.all()],
            )
        )

    def away(self, unit: Resource) -> tuple[Away, ...]:
        return tuple(Away(row.pk, row.start, row.end, row.reason) for row in unit.absences.all())


def _opening(shop: Shop) -> Iterable[OpeningHours]:
    return OpeningHours.objects.of(shop)


def _rows(
    units: Sequence[Resource],
    holds: Sequence[Hold],
    operations: Sequence[Operation],
    frame: _Frame,
    kept: Mapping[int, tuple[KeptFor, ...]],
) -> dict[str, tuple[Row, ...]]:
    of_unit: dict[int, list[Hold]] = defaultdict(list)
    for hold in holds:
        of_unit[hold.resource_id].append(hold)
    of_job: dict[int, list[Operation]] = defaultdict(list)
    for operation in operations:
        of_job[operation.job_id].append(operation)
    pieces = pieces_by_operation(holds)
    wanted = frame.shop.promise_probability
    found: dict[str, list[Row]] = {kind: [] for kind in ResourceKind.values}
    for unit in units:
        mine = of_unit.get(unit.pk, [])
        if unit.kind in (ResourceKind.BAY, ResourceKind.PARKING):
            ribbons = tuple(
                _ribbon(hold, of_job.get(hold.booked_job_id, []), pieces, wanted) for hold in mine
            )
            away, held = frame.away(unit), kept.get(unit.pk, ())
            row = Row(unit, ribbons=ribbons, away=away, kept=held)
        else:
            person = unit.kind == ResourceKind.TECHNICIAN
            row = Row(
                unit,
                taken=tuple(_taken(hold) for hold in mine),
                there=frame.there(unit) if person else (),
                overtime=frame.overtime(unit) if person else (),
                away=frame.away(unit),
                kept=kept.get(unit.pk, ()),
            )
        found[unit.kind].append(row)
    return {kind: tuple(rows) for kind, rows in found.items()}


def _kept(holds: Iterable[Hold]) -> dict[int, tuple[KeptFor, ...]]:
    found: dict[int, list[KeptFor]] = defaultdict(list)
    for hold in holds:
        if hold.kept is not None:
            one = KeptFor(hold.start, hold.end, hold.kept.said, hold.kept.kept_until)
            found[hold.resource_id].append(one)
    return {key: tuple(rows) for key, rows in found.items()}


def pieces_by_operation(holds: Iterable[Hold]) -> dict[int, tuple[Span, ...]]:
    """Return the stretches in which anybody is kept for each operation, joined."""
    found: dict[int, list[tuple[datetime, datetime]]] = defaultdict(list)
    for hold in holds:
        if hold.operation_id is not None and hold.resource.kind == ResourceKind.TECHNICIAN:
            found[hold.operation_id].append((hold.start, hold.end))
    return {
        key: tuple(Span(start, end) for start, end in worktime.join(pieces))
        for key, pieces in found.items()
    }


def _ribbon(
    hold: Hold,
    operations: Sequence[Operation],
    pieces: dict[int, tuple[Span, ...]],
    wanted: Decimal,
) -> Ribbon:
    job = hold.booked_job
    return Ribbon(
        job_id=job.pk,
        number=job.number,
        title=job.title,
        vehicle=job.vehicle.description,
        customer=job.customer.name,
        state=job.state,
        purpose=hold.purpose,
        start=hold.start,
        end=hold.end,
        arrives_at=job.arrives_at,
        promised_at=job.promised_at,
        late=is_late(job),
        work=tuple(
            Stretch(
                operation_id=row.pk,
                sequence=row.sequence,
                kind=row.kind,
                name=row.name,
                state=row.state,
                start=row.planned_start,
                end=row.planned_end,
                pieces=pieces.get(row.pk, ()),
                window=_window(row, before),
            )
            for before, row in zip([None, *operations], operations, strict=False)
            if row.planned_start is not None
            and row.planned_end is not None
            # The vehicle is in one place at a time: where it stands when work starts.
            and hold.start <= row.planned_start < hold.end
        ),
        sure=job.promise_probability if is_unsure(job, wanted) else None,
    )


def _window(row: Operation, before: Operation | None) -> Span | None:
    """Return when a coat that waits for another may begin; None once it has begun."""
    if row.kind != OperationKind.COATING or row.lag_max_minutes is None or before is None:
        return None
    done = before.finished_at or before.planned_end
    if row.state != OperationState.PLANNED or done is None or not row.lag_max_minutes:
        return None
    opens = done + timedelta(minutes=row.lag_min_minutes)
    closes = done + timedelta(minutes=row.lag_max_minutes)
    return Span(opens, closes) if opens < closes else None


def is_late(job: Job) -> bool:
    """Whether the plan itself ends after what was promised."""
    return (
        job.promised_at is not None and job.ready_at is not None and job.ready_at > job.promised_at
    )


def is_unsure(job: Job, wanted: Decimal) -> bool:
    """Whether a promise is less sure than the shop wants it, by a whole percent at least."""
    share = job.promise_probability
    return share is not None and int(share * 100) < int(wanted * 100)


def _taken(hold: Hold) -> Taken:
    return Taken(
        job_id=hold.booked_job_id,
        number=hold.booked_job.number,
        operation=hold.operation.name if hold.operation is not None else "",
        start=hold.start,
        end=hold.end,
    )
