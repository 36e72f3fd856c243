"""What a plan's picture shows, before it is drawn: stays, lanes, kinds of work, lateness."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from scheduling.core.check import stays
from scheduling.core.plan_axis import DAY_MINUTES
from scheduling.core.problem import Job, Operation, Placement, Plan, Week

KINDS = ("wash", "correction", "spot", "coating", "cure", "other")
_WORDS = (
    ("coating", ("coat", "layer", "ceramic")),
    ("spot", ("spot work", "spot correct", "touch")),
    ("correction", ("correct", "polish", "sand", "compound", "refine")),
    ("wash", ("wash", "decon", "clay", "wipe", "mask", "rinse")),
)
Shown = TypeVar("Shown")


@dataclass(frozen=True, slots=True)
class Work:
    """One stretch of an operation, in minutes."""

    op: Operation
    kind: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Stay:
    """A vehicle stands at a spot for ``[start, end)``, with what is done to it there."""

    job: Job
    spot: str
    start: int
    end: int
    work: tuple[Work, ...]


@dataclass(frozen=True, slots=True)
class Visit:
    """One vehicle's way through the shop."""

    job: Job
    stays: tuple[Stay, ...]

    @property
    def start(self) -> int:
        """Arrival."""
        return self.stays[0].start

    @property
    def end(self) -> int:
        """End of the last operation."""
        return self.stays[-1].end

    @property
    def late(self) -> int:
        """Minutes after the due time, 0 where it is kept."""
        return max(0, self.end - self.job.due)

    @property
    def words(self) -> str:
        """The visit in words."""
        judged = f"late by {duration(self.late)}" if self.late else "on time"
        return f"{self.job.id}: arrives {clock(self.start)}, ready {clock(self.end)}, {judged}"


def kind_of(op: Operation) -> str:
    """Return the kind of work by which an operation is drawn.

    A week file names its work in free text, so the words in it decide; what is unattended cures.
    """
    if not op.attended:
        return "cure"
    said = f"{op.name} {op.skill} {op.spot_cap}".lower()
    return next((kind for kind, words in _WORDS if any(w in said for w in words)), "other")


def visits(week: Week, plan: Plan) -> list[Visit]:
    """Return the way of each vehicle all of whose operations are placed, in order of the jobs."""
    found = []
    for job in week.jobs:
        if all(op.id in plan.ops for op in job.ops):
            placed = [plan.ops[op.id] for op in job.ops]
            found.append(Visit(job, _stays(job, placed, plan.waits.get(job.id, ()))))
    return found


def _stays(job: Job, placed: Sequence[Placement], waits: Sequence[str]) -> tuple[Stay, ...]:
    merged: list[tuple[str, int, int]] = []
    for use in stays(job.id, placed, waits):
        if merged and merged[-1][0] == use.resource:
            merged[-1] = (use.resource, merged[-1][1], use.end)
        elif use.end > use.start or not merged:
            merged.append((use.resource, use.start, use.end))
    return tuple(
        Stay(job, spot, start, end, tuple(_work(job, placed, spot, start, end)))
        for spot, start, end in merged
    )


def _work(job: Job, placed: Sequence[Placement], spot: str, start: int, end: int) -> Iterable[Work]:
    for op, here in zip(job.ops, placed, strict=True):
        if here.spot == spot and start <= here.start and here.end <= end:
            for a, b in here.pieces or [(here.start, here.end)]:
                yield Work(op, kind_of(op), a, b)


def lanes(spans: Sequence[tuple[float, float, Shown]]) -> list[tuple[int, Shown]]:
    """Give each span the first lane that is free from its start on; in order of start."""
    ends: list[float] = []
    found = []
    for start, end, shown in sorted(spans, key=lambda span: span[:2]):
        lane = next((n for n, until in enumerate(ends) if until <= start), len(ends))
        if lane == len(ends):
            ends.append(end)
        ends[lane] = end
        found.append((lane, shown))
    return found


def clock(minute: int) -> str:
    """Return a minute as day and time of day; the first day is day 1."""
    day, rest = divmod(minute, DAY_MINUTES)
    return f"day {day + 1} {rest // 60}:{rest % 60:02}"


def duration(minutes: int) -> str:
    """Return minutes as days, hours and minutes."""
    days, rest = divmod(minutes, DAY_MINUTES)
    hours, rest = divmod(rest, 60)
    parts = [(days, "d"), (hours, "h"), (rest, "min")]
    return " ".join(f"{count} {unit}" for count, unit in parts if count) or "0 min"
