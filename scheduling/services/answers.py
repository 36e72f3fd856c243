"""A plan of the week as a proposal: kept as data, read back, checked again, accepted."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping, Sequence
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from scheduling.core.check import check_plan, score
from scheduling.core.fit import Reason
from scheduling.core.formats import read_plan
from scheduling.core.problem import Plan
from scheduling.core.values import ProblemError
from scheduling.models import PlanRun
from scheduling.models.planruns import OPEN_STATES
from scheduling.services.bookings import bookings_rearrange
from scheduling.services.chains import reason_text
from scheduling.services.joblines import Line
from scheduling.services.weekmoves import mixed, moves_of, plan_kept, row_of
from scheduling.services.weekplan import WeekPlan, weekplan_load
from shop.models import Job, Member
from shop.refusals import Conflict, Problem, Refused


def answer_of(
    read: WeekPlan, plan: Plan, *, key: str, reasons: Sequence[Reason] = ()
) -> dict[str, Any]:
    """Return one answer of a proposal as data: status, points, and the lines that change."""
    answer: dict[str, Any] = {"key": key, "status": str(plan.status), "rows": []}
    if not plan.ops:
        said = [_reason(read, reason) for reason in reasons] or list(plan.reasons)
        return answer | {"reasons": list(dict.fromkeys(said))}
    value, parts = score(read.week, plan)
    answer |= {
        "points": {"before": read.damage.plan.objective, "after": value, "bound": plan.bound},
        "parts": {
            name: {"before": getattr(read.damage.plan.parts, name), "after": getattr(parts, name)}
            for name in ("weighted_tardiness_min", "flow_min", "moves", "changes")
        },
        "rows": [row_of(read, moved) for moved in moves_of(read, plan)],
        "plan": plan_kept(read, plan),
        "seen": {
            line.id: line.seen for line in read.lines.values() if line.id in _changed(read, plan)
        },
    }
    return answer


def _changed(read: WeekPlan, plan: Plan) -> set[str]:
    return set(plan_kept(read, plan)["waits"])


def _reason(read: WeekPlan, reason: Reason) -> str:
    """Say why a vehicle finds no place, by its number."""
    key = reason.op_id.split(".")[0]
    line = read.lines.get(key)
    if line is None:
        return reason.text
    rows = {f"{key}.{row.sequence}": row for row in line.rows}
    row = rows.get(reason.op_id, line.rows[-1])
    said = reason_text(Reason(reason.why, str(row.sequence), reason.text), line.rows, read.horizon)
    return f"{line.job.number}: {said}"


def answer_accept(
    *, run: PlanRun, key: str, chosen: Collection[str], member: Member, now: datetime
) -> list[Job]:
    """Move what was chosen of an answer, all of it in one transaction or nothing.

    The calendar is read anew and everything chosen is checked again in it.

    Raises
    ------
    Refused
        Nothing was chosen, or what was chosen does not go together.
    Conflict
        The proposal was answered already, or the calendar has changed since: with what changed.
    """
    if not chosen:
        raise Refused(Problem(_("Choose at least one vehicle to move."), field="chosen"))
    with transaction.atomic():
        # Race: two people accept at once, or one accepts and one leaves it.
        locked = PlanRun.objects.select_for_update().get(pk=run.pk)
        if locked.state in OPEN_STATES or locked.answered_at is not None:
            raise Conflict(_("This proposal was answered already, or its search is not over."))
        answer = _answer(locked, key)
        read = weekplan_load(shop=run.shop, as_of=locked.as_of)
        lines = [_unchanged(read, answer, one, now) for one in sorted(chosen)]
        plan = mixed(read, read_plan(json.dumps(answer["plan"])), chosen)
        _refuse_invalid(read, plan, chosen)
        moved = [one for one in moves_of(read, plan) if one.line in lines]
        jobs = bookings_rearrange(
            visits=[(one.line.job, one.offer) for one in moved],
            member=member,
            now=now,
            why=_("Plan accepted"),
        )
        locked.answered_at, locked.answered_by = now, member
        locked.accepted = [key, *sorted(line.job.number for line in lines)]
        locked.save(update_fields=["answered_at", "answered_by", "accepted"])
    run.refresh_from_db()
    return jobs


def _answer(run: PlanRun, key: str) -> Mapping[str, Any]:
    for answer in run.proposal.get("answers", ()):
        if answer["key"] == key and answer["rows"]:
            found: Mapping[str, Any] = answer
            return found
    raise Refused(Problem(_("The proposal has no such answer."), field="answer"))


def _unchanged(read: WeekPlan, answer: Mapping[str, Any], key: str, now: datetime) -> Line:
    """Return a chosen vehicle if it stands as it did when the proposal was made."""
    row = next((one for one in answer["rows"] if one["key"] == key), None)
    if row is None:
        raise Refused(Problem(_("The proposal does not move that vehicle."), field="chosen"))
    line = read.lines.get(key)
    if line is None or dict(line.seen) != answer["seen"][key]:
        text = _("%s was changed since this was worked out; nothing was moved. Search again.")
        raise Conflict(text % row["number"])
    for step in line.chain.ops[1 : 1 + len(line.rows)]:
        start = answer["plan"]["ops"][step.id]["start"]
        before = read.damage.plan.ops[step.id].start
        if start != before and read.horizon.moment(start) < now:
            text = _("%s should have begun by now in this plan; nothing was moved. Search again.")
            raise Conflict(text % row["number"])
    return line


def _refuse_invalid(read: WeekPlan, plan: Plan, chosen: Collection[str]) -> None:
    """Refuse a plan that breaks a rule for a chosen vehicle in the calendar of now."""
    try:
        broken = check_plan(read.week, plan)
    except ProblemError as error:
        raise Conflict(_("The calendar cannot be read: %s") % error) from error
    # A vehicle that was in trouble before and was not chosen stays in trouble: no matter here.
    mine = [one for one in broken if _job_of(one.subject) in chosen]
    shared = [one for one in broken if _job_of(one.subject) not in read.lines]
    before = {(one.rule, one.subject) for one in check_plan(read.week, read.damage.plan)}
    shared = [one for one in shared if (one.rule, one.subject) not in before]
    if not mine and not shared:
        return
    said = list(dict.fromkeys(_said(read, one.subject) for one in (*mine, *shared)))
    raise Conflict(
        _("What is chosen does not go together, or the calendar has changed; nothing was moved."),
        *said[:4],
    )


def _job_of(subject: str) -> str:
    return subject.split(".", maxsplit=1)[0]


def _said(read: WeekPlan, subject: str) -> str:
    line = read.lines.get(_job_of(subject))
    if line is not None:
        return _("%s has no place there any more.") % line.job.number
    unit = read.horizon.units.get(subject.rsplit(" ", maxsplit=1)[-1])
    return _("%s would be taken twice.") % (unit.name if unit else subject)
