"""Build a plan job by job: each gets its earliest fit around those already placed.

It answers in milliseconds, always within the rules, and gives the later steps a start. The order
in which jobs are placed decides how good it is, so several priority rules are tried.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from scheduling.core.changes import changed
from scheduling.core.earliest import earliest_fit
from scheduling.core.fit import Chain, Fit, FitOp, Reason
from scheduling.core.freeindex import FreeIndex, Lamp, Resources, Technician
from scheduling.core.problem import Frozen, Job, Parts, Placement, Plan, PlanStatus, Week

LAMPS = "lamps"
Order = Sequence[str]
Rule = Callable[[Week], Order]


def week_resources(week: Week) -> Resources:
    """Return a week's resources for an index; identifiers get a prefix, as kinds may share them."""
    at_once = max(1, len(week.jobs))
    return Resources(
        grid=week.grid,
        horizon=week.horizon,
        spots=tuple(
            replace(spot, id=f"spot {spot.id}", capacity=min(spot.capacity, at_once))
            for spot in week.spots
        ),
        crew=tuple(
            Technician(f"crew {one.id}", week.calendars[one.calendar], one.skills)
            for one in week.crew
        ),
        lamps=(Lamp(LAMPS, min(week.lamps, _most_lamps(week) * at_once)),)
        if week.lamps and _most_lamps(week)
        else (),
        opening=week.opening,
    )


def _most_lamps(week: Week) -> int:
    return max((m.lamps for job in week.jobs for op in job.ops for m in op.modes), default=0)


def job_chain(job: Job, frozen: Mapping[str, Frozen]) -> Chain:
    """Return a job of a week as a chain, with what must be kept of it."""
    kept = {
        op.id: replace(
            frozen[op.id],
            spot=None if frozen[op.id].spot is None else f"spot {frozen[op.id].spot}",
            crew=_prefixed(frozen[op.id].crew),
        )
        for op in job.ops
        if op.id in frozen
    }
    return Chain(job.ops, by_customer=False, kept=kept)


def _prefixed(crew: tuple[str, ...] | None) -> tuple[str, ...] | None:
    return None if crew is None else tuple(f"crew {one}" for one in crew)


class Draft:
    """A plan in the making: which job holds what, and what is free.

    Parameters
    ----------
    week : Week
        The problem; the draft starts empty.
    """

    def __init__(self, week: Week) -> None:
        self.week = week
        self.index = FreeIndex(week_resources(week))
        self.jobs = {job.id: job for job in week.jobs}
        self.chains = {job.id: job_chain(job, week.frozen) for job in week.jobs}
        self.preferred = {
            job.id: job_chain(job, {**week.preferred, **week.frozen})
            for job in week.jobs
            if any(op.id in week.preferred for op in job.ops)
        }
        self.placed: dict[str, Fit] = {}
        self.costs: dict[str, float] = {}

    def cost_of(self, job: Job, fit: Fit) -> float:
        """Return one job's share of the objective (the makespan aside)."""
        goal = self.week.objective
        late = job.weight * max(0, fit.end - job.due)
        minutes = goal.tardiness * late + goal.flow * (fit.end - job.release)
        points = minutes / goal.per + goal.move * fit.moves
        if goal.change and changed(job, fit, self.week.preferred):
            points += goal.change
        return points

    @property
    def objective(self) -> float:
        """The objective of what is placed."""
        total = sum(self.costs.values())
        if self.week.objective.makespan:
            latest = max((fit.end for fit in self.placed.values()), default=0)
            total += self.week.objective.makespan * latest / self.week.objective.per
        return total

    def insert(self, job_id: str) -> Fit:
        """Place a job as early as it can be done now; return its fit, found or not.

        A job with a preferred placement takes that if it costs no more.
        """
        job = self.jobs[job_id]
        fit = earliest_fit(self.chains[job_id], self.index, not_before=job.release)
        if fit.found and job_id in self.preferred:
            known = self._as_preferred(job_id)
            if known.found and self.cost_of(job, known) <= self.cost_of(job, fit):
                fit = known
        if fit.found:
            self.put(job_id, fit)
        return fit

    def keep_preferred(self) -> None:
        """Place every job at its preferred placement that is still possible."""
        for job_id in self.preferred:
            fit = self._as_preferred(job_id)
            if fit.found:
                self.put(job_id, fit)

    def _as_preferred(self, job_id: str) -> Fit:
        release = self.jobs[job_id].release
        return earliest_fit(self.preferred[job_id], self.index, not_before=release)

    def put(self, job_id: str, fit: Fit) -> None:
        """Place a job as a fit says."""
        for resource, start, end in takings(fit):
            self.index.add(resource, start, end)
        self.placed[job_id] = fit
        self.costs[job_id] = self.cost_of(self.jobs[job_id], fit)

    def take_out(self, job_id: str) -> Fit:
        """Take a job out again; return what it had."""
        fit = self.placed.pop(job_id)
        del self.costs[job_id]
        for resource, start, end in takings(fit):
            self.index.remove(resource, start, end)
        return fit

    def plan(self, seconds: float = 0.0) -> Plan:
        """Return what is placed as a feasible plan."""
        jobs = [job for job in self.week.jobs if job.id in self.placed]
        fits = [self.placed[job.id] for job in jobs]
        goal = self.week.objective
        late = sum(j.weight * max(0, f.end - j.due) for j, f in zip(jobs, fits, strict=True))
        ops = {op.op_id: plain_placement(op) for fit in fits for op in fit.ops}
        waits = {
            job.id: tuple(one.removeprefix("spot ") for one in fit.plan_waits())
            for job, fit in zip(jobs, fits, strict=True)
        }
        parts = Parts(
            weighted_tardiness_min=late,
            flow_min=sum(f.end - j.release for j, f in zip(jobs, fits, strict=True)),
            moves=sum(fit.moves for fit in fits),
            makespan_min=max((fit.end for fit in fits), default=0) if goal.makespan else 0,
            changes=sum(
                changed(j, f, self.week.preferred) for j, f in zip(jobs, fits, strict=True)
            ),
        )
        return Plan(PlanStatus.FEASIBLE, ops, waits, self.objective, seconds=seconds, parts=parts)


def takings(fit: Fit) -> Iterable[tuple[str, int, int]]:
    """Yield what a plan counts as taken: a crew member stays with his work throughout."""
    for hold in fit.holds:
        if not hold.resource.startswith("crew "):
            yield hold.resource, hold.start, hold.end
    for op in fit.ops:
        for person in op.crew:
            yield person, op.start, op.end


def plain_placement(op: FitOp) -> Placement:
    """Return a placed operation with the identifiers of its week."""
    return replace(
        op.placement(),
        spot=op.spot.removeprefix("spot "),
        crew=tuple(one.removeprefix("crew ") for one in op.crew),
    )


def _work(job: Job) -> int:
    return sum(min(mode.dur for mode in op.modes) for op in job.ops)


def _sorted_by(key: Callable[[Job], float]) -> Rule:
    def rule(week: Week) -> Order:
        return [job.id for job in sorted(week.jobs, key=lambda job: (key(job), job.id))]

    return rule


RULES: Mapping[str, Rule] = {
    "due": _sorted_by(lambda job: job.due),
    "release": _sorted_by(lambda job: job.release),
    "slack": _sorted_by(lambda job: job.due - job.release - _work(job)),
    "latest start": _sorted_by(lambda job: job.due - _work(job)),
    "weighted due": _sorted_by(
        lambda job: job.release + (job.due - job.release) / (1 + job.weight)
    ),
    "most work": _sorted_by(lambda job: -_work(job)),
}


def frozen_first(week: Week, order: Order) -> list[str]:
    """Return the order with jobs of which something is frozen in front."""
    kept = {job.id for job in week.jobs if any(op.id in week.frozen for op in job.ops)}
    return sorted(order, key=lambda job_id: job_id not in kept)


def insert_all(week: Week, order: Order, *, keep: bool = False) -> tuple[Draft, tuple[Reason, ...]]:
    """Return a draft of all jobs in an order, and reasons if one of them found no room.

    With ``keep`` the preferred placements come first, whatever they cost.
    """
    draft = Draft(week)
    if keep:
        draft.keep_preferred()
    for job_id in frozen_first(week, order):
        if job_id in draft.placed:
            continue
        fit = draft.insert(job_id)
        if not fit.found:
            return draft, fit.reasons
    return draft, ()


def best_of_rules(week: Week) -> tuple[Draft | None, tuple[Reason, ...]]:
    """Return the best draft of all priority rules, or why the last of them failed."""
    best: Draft | None = None
    reasons: tuple[Reason, ...] = ()
    for rule in RULES.values():
        draft, failed = insert_all(week, rule(week))
        if failed:
            reasons = failed
        elif best is None or draft.objective < best.objective:
            best = draft
    return best, reasons
