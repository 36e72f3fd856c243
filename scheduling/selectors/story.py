"""One job from enquiry to closed: what happened, what was planned, what was said."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.db.models import Prefetch, prefetch_related_objects

from estimating.models import Quote
from scheduling.models import Cure, Hold, Reminder, ResourceKind
from shop.models import Job, JobEvent, MaterialUse, Operation, PlannedMaterial, WorkEntry


@dataclass(frozen=True)
class JobStory:
    """Everything about one job for its page.

    ``operations`` have their work entries and members at hand; ``crew`` names who is
    planned for each, by the operation's key.
    """

    job: Job
    quote: Quote | None
    events: tuple[JobEvent, ...]
    operations: tuple[Operation, ...]
    crew: Mapping[int, tuple[str, ...]]
    holds: tuple[Hold, ...]
    materials_planned: tuple[PlannedMaterial, ...]
    materials_used: tuple[MaterialUse, ...]
    reminders: tuple[Reminder, ...]
    cure: Cure | None


def job_story(job: Job) -> JobStory:
    """Return a job's story in seven queries, the job itself given.

    Quote and cure cost a query each where they were not fetched with the job.
    """
    operations = list(Operation.objects.filter(job=job).order_by("sequence"))
    entries = WorkEntry.objects.select_related("member")
    prefetch_related_objects(operations, Prefetch("work", entries))
    for row in operations:
        row.job = job
    holds = list(Hold.objects.filter(job=job).select_related("resource").order_by("start", "pk"))
    crew: dict[int, dict[str, None]] = {}
    for hold in holds:
        if hold.operation_id is not None and hold.resource.kind == ResourceKind.TECHNICIAN:
            crew.setdefault(hold.operation_id, {})[hold.resource.name] = None
    planned = PlannedMaterial.objects.filter(job=job).select_related("consumable")
    uses = MaterialUse.objects.filter(job=job).select_related("consumable", "member")
    return JobStory(
        job=job,
        quote=getattr(job, "quote", None),
        events=tuple(JobEvent.objects.filter(job=job).select_related("member")),
        operations=tuple(operations),
        crew={key: tuple(names) for key, names in crew.items()},
        holds=tuple(holds),
        materials_planned=tuple(planned),
        materials_used=tuple(uses),
        reminders=tuple(Reminder.objects.filter(job=job).order_by("due_at", "pk")),
        cure=getattr(job, "cure", None),
    )
