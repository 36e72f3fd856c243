"""Whether a plan file says of itself what is true: status, bound and gap."""

from __future__ import annotations

from collections.abc import Iterable

from scheduling.core.check import TOLERANCE, Rule, Violation, check_plan
from scheduling.core.problem import Plan, PlanStatus, Week

GAP_TOLERANCE = 1e-5


def check_file(week: Week, plan: Plan) -> list[Violation]:
    """Return what is wrong with a plan file; an empty list is a valid schedule.

    The rules of the week, see :func:`scheduling.core.check.check_plan`, and what the file says
    of its own worth. That its bound is proven cannot be seen from a file, only that it is not
    above the objective. A file without a schedule is one violation: it is no plan of the week.
    """
    if plan.status in (PlanStatus.IMPOSSIBLE, PlanStatus.NONE_FOUND):
        why = "; ".join(plan.reasons) or "no reason is given"
        return [Violation(Rule.SHAPE, str(plan.status), f"holds no schedule: {why}")]
    return check_plan(week, plan) + list(_said(plan))


def _said(plan: Plan) -> Iterable[Violation]:
    if plan.objective is None or plan.bound is None or plan.gap is None:
        missing = "objective" if plan.objective is None else "bound"
        yield Violation(Rule.OBJECTIVE, missing, f"a plan that is {plan.status} states it")
        return
    room = TOLERANCE * max(1.0, abs(plan.objective))
    if plan.status is PlanStatus.OPTIMAL and plan.objective - plan.bound > room:
        text = f"says optimal, but the bound {plan.bound} is below the objective {plan.objective}"
        yield Violation(Rule.OBJECTIVE, "status", text)
    if plan.said_gap is not None and abs(plan.said_gap - plan.gap) > GAP_TOLERANCE:
        yield Violation(Rule.OBJECTIVE, "gap", f"says {plan.said_gap}, but is {plan.gap:.6f}")
