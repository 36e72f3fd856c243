"""What the job page shows, put together from the job's story and its costing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, Final

from django.db.models import QuerySet, Sum
from django.http import Http404
from django.utils.translation import gettext as _

from estimating.selectors import balance_from
from scheduling.models import ReminderState
from scheduling.selectors import JobStory, job_story
from scheduling.web.forms import CancelForm, HandOverForm, MaterialForm, PaymentForm
from scheduling.web.story_lines import amount, story_lines
from scheduling.web.work_shown import work_shown
from shop.access import DESK, OWNER
from shop.costing import Compared, JobCosting
from shop.models import Job, JobState, Member
from shop.selectors import costing_of_rows

DONE_STATES: Final = frozenset({JobState.READY, JobState.HANDED_OVER, JobState.CLOSED})
BEFORE_WORK: Final = frozenset(
    {JobState.ENQUIRY, JobState.QUOTED, JobState.BOOKED, JobState.ON_SITE, JobState.NO_SHOW}
)
OVER: Final = frozenset({JobState.CLOSED, JobState.CANCELLED, JobState.NO_SHOW})
STATE_KINDS: Final[Mapping[str, str]] = {
    JobState.READY: "good",
    JobState.HANDED_OVER: "good",
    JobState.CLOSED: "good",
    JobState.CANCELLED: "stop",
    JobState.NO_SHOW: "stop",
    JobState.CURING: "watch",
}
REMINDER_KINDS: Final[Mapping[str, str]] = {
    ReminderState.SENT: "good",
    ReminderState.FAILED: "stop",
    ReminderState.UNKNOWN: "watch",
}
# A little more than planned is the spread of any estimate.
OVER_PLAN: Final = Decimal("1.1")


@dataclass(frozen=True)
class MaterialShown:
    """One item: planned beside used."""

    name: str
    planned: str
    used: str
    over: bool


def job_page_context(member: Member, pk: int, now: datetime) -> dict[str, Any]:
    """Return the context of one job's page for ``member``.

    Raises
    ------
    Http404
        The member's shop has no such job.
    """
    job = _job_rows(member).filter(pk=pk).first()
    if job is None:
        raise Http404
    story = job_story(job)
    costing = costing_of_rows(
        job=job,
        operations=list(story.operations),
        planned=story.materials_planned,
        used=story.materials_used,
        now=now,
    )
    tz = member.shop.tz
    cure = story.cure
    return {
        "job": job,
        "now": now,
        "arrives_day": job.arrives_at.astimezone(tz).date().isoformat() if job.arrives_at else "",
        "state_kind": STATE_KINDS.get(job.state, ""),
        "late": _late(job, now),
        "cure": cure,
        "cure_running": cure is not None and job.state == JobState.CURING,
        "work_done": job.state in DONE_STATES,
        "operations": [
            work_shown(row, now, tz, story.crew.get(row.pk, ())) for row in story.operations
        ],
        "lines": _lines(story, now, tz),
        "reminders": [(row, REMINDER_KINDS.get(row.state, "")) for row in story.reminders],
        "quote": story.quote,
        **_paid(job, story),
        **_money(job, costing),
        **_may(member, job, now),
        "material_form": MaterialForm(shop=member.shop),
        "cancel_form": CancelForm(),
        "hand_over_form": HandOverForm(),
    }


def _job_rows(member: Member) -> QuerySet[Job]:
    """The shop's jobs with what stands in the head of the page; not the quote's long snapshots."""
    snapshots = ("request", "parameters", "estimate", "operations", "materials")
    return (
        Job.objects.of(member.shop)
        .select_related("vehicle", "customer", "shop", "quote", "cure")
        .annotate(paid=Sum("payments__amount"))
        .defer(*(f"quote__{name}" for name in snapshots))
    )


def _lines(story: JobStory, now: datetime, tz: Any) -> Any:
    return story_lines(
        events=story.events,
        operations=story.operations,
        uses=story.materials_used,
        reminders=story.reminders,
        tz=tz,
        now=now,
    )


def _late(job: Job, now: datetime) -> bool:
    """Whether the promise cannot be kept as things are planned."""
    if job.promised_at is None or job.state in DONE_STATES | OVER:
        return False
    planned = job.ready_at or now
    return max(planned, now) > job.promised_at


def _paid(job: Any, story: JobStory) -> dict[str, Any]:
    """What was paid and what is open; the sum came with the job, the story tells each payment."""
    tax = story.quote.tax if story.quote is not None else None
    return {
        "payments": [event for event in story.events if event.kind == "payment"],
        "owed": balance_from(job, tax, job.paid),
        "payment_form": PaymentForm(),
    }


def _may(member: Member, job: Job, now: datetime) -> dict[str, bool]:
    desk = member.role in DESK
    arrives = job.arrives_at
    return {
        "may_desk": desk,
        "may_money": desk,
        "may_overrule": member.role in OWNER,
        "may_log": job.state not in OVER,
        "may_cancel": job.state in BEFORE_WORK - {JobState.NO_SHOW},
        "may_no_show": job.state == JobState.BOOKED and arrives is not None and arrives <= now,
    }


def _money(job: Job, costing: JobCosting) -> dict[str, Any]:
    costed = job.state in DONE_STATES
    return {
        "costing": costing,
        "costed": costed,
        "money_rows": [
            (_("Labour"), costing.labour),
            (_("Bay"), costing.bay),
            (_("Materials"), costing.materials),
            (_("Overhead"), costing.overhead),
            (_("Card fee"), costing.card_fee),
            *([(_("Overtime"), costing.overtime)] if costing.overtime.actual else []),
        ],
        "material_rows": [
            MaterialShown(
                line.name,
                _amount(line.quantity.estimated, line.unit),
                _amount(line.quantity.actual, line.unit),
                line.quantity.estimated > 0
                and line.quantity.actual > OVER_PLAN * line.quantity.estimated,
            )
            for line in costing.material_lines
        ],
        **_outcome(costing.cost),
    }


def _outcome(cost: Compared) -> dict[str, str]:
    """One sentence on how it came out, with its judgement."""
    if not cost.estimated:
        return {"outcome": "", "outcome_kind": ""}
    share = round(100 * cost.variance / cost.estimated)
    words = {"share": abs(share)}
    if share > 0:
        return {
            "outcome": _("! Cost %(share)s %% more than estimated.") % words,
            "outcome_kind": "watch",
        }
    if share < 0:
        return {
            "outcome": _("✓ Cost %(share)s %% less than estimated.") % words,
            "outcome_kind": "good",
        }
    return {"outcome": _("✓ Cost as estimated."), "outcome_kind": "good"}


def _amount(quantity: Decimal, unit: str) -> str:
    return f"{amount(quantity)} {unit}" if quantity else "–"
