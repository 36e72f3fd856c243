"""Plays weeks of a shop through the same services that the screens call.

A queue of events in order of time: a call, an arrival, the start, the pause and
the end of work, a hand-over, the clock that sends messages. Each event does its
work at its own moment and may add later events; the play stops at "now", with
vehicles standing wherever they happen to be.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import count
from random import Random

from scheduling.models import Hold, HoldPurpose, ResourceKind
from scheduling.services.floor import (
    job_check_in,
    job_close,
    job_hand_over,
    work_finish,
    work_pause,
    work_start,
)
from shop.models import (
    Attendance,
    Job,
    JobState,
    Member,
    Operation,
    OperationState,
    PlannedMaterial,
)
from shop.services.work import material_use

Event = Callable[[datetime], None]
# Every other customer who could collect so shortly before the end has not come yet.
NOT_YET_COLLECTED = timedelta(hours=30)


@dataclass
class Play:
    """The queue and what the people are doing. Durations vary by ``rng``."""

    until: datetime
    desk: Member
    rng: Random
    queue: list[tuple[datetime, int, Event]] = field(default_factory=list)
    busy: dict[int, datetime] = field(default_factory=dict)
    _order: count[int] = field(default_factory=count)

    def at(self, moment: datetime, event: Event) -> None:
        """Put ``event`` in the queue; what lies after the end never happens."""
        if moment <= self.until:
            heapq.heappush(self.queue, (moment, next(self._order), event))

    def run(self, progress: Callable[[datetime], None] | None = None) -> None:
        """Play every event up to the end."""
        while self.queue:
            moment, _, event = heapq.heappop(self.queue)
            event(moment)
            if progress is not None:
                progress(moment)

    def expect(self, job: Job) -> None:
        """Let a booked job arrive, be worked on, be handed over and closed."""
        assert job.arrives_at is not None
        late = timedelta(minutes=self.rng.choice((0, 0, 0, 5, 10)))
        self.at(job.arrives_at - timedelta(minutes=5) + late, lambda now: self._arrive(job, now))

    def _arrive(self, job: Job, now: datetime) -> None:
        job.refresh_from_db()
        if job.state != JobState.BOOKED:
            return
        job_check_in(job=job, member=self.desk, now=now)
        self._next_operation(job, now)

    def _next_operation(self, job: Job, now: datetime) -> None:
        operation = Operation.objects.filter(job=job).exclude(state=OperationState.DONE).first()
        if operation is None or operation.attendance == Attendance.UNATTENDED:
            self._wait_for_pick_up(job, now)
            return
        work = _Work(self, operation)
        planned = operation.planned_start or now
        self.at(max(planned, now), work.start)

    def _wait_for_pick_up(self, job: Job, now: datetime) -> None:
        job.refresh_from_db()
        promised = job.promised_at or job.ready_at or now
        self.at(max(promised, now), lambda at: self._hand_over(job, at))

    def _hand_over(self, job: Job, now: datetime) -> None:
        job.refresh_from_db()
        if job.state == JobState.CURING:
            self.at(now + timedelta(hours=1), lambda at: self._hand_over(job, at))
            return
        recent = self.until - now < NOT_YET_COLLECTED
        if job.state != JobState.READY or (recent and job.pk % 2):
            return
        job_hand_over(job=job, member=self.desk, now=now)
        self.at(now + timedelta(days=2), lambda at: self._close(job, at))

    def _close(self, job: Job, now: datetime) -> None:
        job.refresh_from_db()
        job_close(job=job, member=self.desk, now=now)


class _Work:
    """One attended operation: worked in the stretches kept for it, then finished."""

    def __init__(self, play: Play, operation: Operation) -> None:
        self.play = play
        self.operation = operation
        holds = list(
            Hold.objects.select_related("resource__member").filter(
                operation=operation,
                purpose=HoldPurpose.WORK,
                resource__kind=ResourceKind.TECHNICIAN,
            )
        )
        first = min(holds, key=lambda hold: hold.start)
        assert first.resource.member is not None
        self.member: Member = first.resource.member
        mine = [hold for hold in holds if hold.resource_id == first.resource_id]
        self.pieces = sorted((hold.start, hold.end) for hold in mine)
        # Real work scatters about the median and is a little longer than the estimate.
        factor = play.rng.lognormvariate(0.03, 0.16)
        self.left = timedelta(minutes=max(5.0, operation.minutes_p50 * factor))

    def start(self, now: datetime) -> None:
        busy = self.play.busy.get(self.member.pk)
        if busy is not None and busy > now:
            self.play.at(busy, self.start)
            return
        work_start(operation=self.operation, member=self.member, now=now)
        last = not any(start > now for start, _ in self.pieces)
        stop = next((end for start, end in self.pieces if start <= now < end), None)
        pausable = self.operation.attendance == Attendance.PAUSABLE
        if pausable and not last and stop is not None and now + self.left > stop:
            self.play.busy[self.member.pk] = stop
            self.left -= stop - now
            self.play.at(stop, self.pause)
        else:
            self.play.busy[self.member.pk] = now + self.left
            self.play.at(now + self.left, self.finish)

    def pause(self, now: datetime) -> None:
        work_pause(operation=self.operation, member=self.member, now=now)
        again = next(start for start, _ in self.pieces if start >= now)
        self.play.at(again, self.start)

    def finish(self, now: datetime) -> None:
        job = self.operation.job
        self._use_material(now)
        work_finish(operation=self.operation, member=self.member, now=now)
        self.play.busy[self.member.pk] = now
        self.play._next_operation(job, now + timedelta(minutes=2))

    def _use_material(self, now: datetime) -> None:
        """Each planned material is logged with one operation, about as planned."""
        attended = self.operation.job.operations.exclude(attendance=Attendance.UNATTENDED)
        last = attended.order_by("-sequence").values_list("pk", flat=True).first()
        if self.operation.pk != last:
            return
        for planned in PlannedMaterial.objects.filter(job=self.operation.job):
            share = Decimal(str(round(self.play.rng.uniform(0.85, 1.15), 3)))
            material_use(
                job=self.operation.job,
                operation=self.operation,
                consumable=planned.consumable,
                quantity=(planned.quantity * share).quantize(Decimal("0.0001"))
                or Decimal("0.0001"),
                member=self.member,
                now=now,
            )
