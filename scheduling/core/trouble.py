"""What goes wrong with a plan that is under way, and which jobs it hits.

A trouble changes the week: work takes longer, a person or a bay is away, there are fewer lamps.
What has begun stays as it is; a job whose planned placement breaks the changed week is *hit*.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from scheduling.core.check import Use, check_plan, over_capacity, score
from scheduling.core.problem import Frozen, Job, Mode, Operation, Placement, Plan, PlanStatus, Week
from scheduling.core.values import ProblemError
from scheduling.core.worktime import cut, join


@dataclass(frozen=True, slots=True)
class Longer:
    """An operation takes ``minutes`` more: work that overruns, a cure in a cold night."""

    op_id: str
    minutes: int


@dataclass(frozen=True, slots=True)
class Away:
    """A person is not there for ``[start, end)``."""

    person: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Closed:
    """No vehicle may be in a spot for ``[start, end)``."""

    spot: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class FewerLamps:
    """So many lamps are broken from now on."""

    count: int = 1


Trouble = Longer | Away | Closed | FewerLamps


@dataclass(frozen=True, slots=True)
class Damage:
    """A week after trouble.

    Attributes
    ----------
    week : Week
        The changed problem. What has begun is frozen; an operation under way keeps its mode as
        its only one. Jobs that are not hit prefer to stay where they are, so that each that
        moves costs one change.
    plan : Plan
        The plan that was good before, with its objective in the changed week as if nothing had
        to give way: what everything costs at least to stay as it was.
    hit : tuple of str
        Jobs that cannot be done as planned, in the order of the week.
    now : int
        Minute at which the trouble is known.
    """

    week: Week
    plan: Plan
    hit: tuple[str, ...]
    now: int

    @property
    def others(self) -> tuple[str, ...]:
        """Jobs that could stay where they are."""
        return tuple(job.id for job in self.week.jobs if job.id not in self.hit)


def assess(week: Week, plan: Plan, troubles: Iterable[Trouble], *, now: int = 0) -> Damage:
    """Return the changed week and the jobs that the troubles hit.

    Parameters
    ----------
    week : Week
        The problem that the plan solves.
    plan : Plan
        A valid plan of it.
    troubles : iterable of Trouble
        What went wrong.
    now : int
        Operations that start before this minute have begun, and stay.

    Raises
    ------
    ProblemError
        A trouble names what the week does not have, or runs backwards.
    """
    changed, placed = _begun(week, plan, now)
    for trouble in troubles:
        changed = _apply(changed, trouble)
    changed = _not_in_the_past(changed, placed, now)
    hit = _hit(changed, placed)
    frozen = {
        op.id: replace(changed.frozen[op.id], end=None)
        for job in changed.jobs
        if job.id in hit
        for op in job.ops
        if op.id in changed.frozen and placed.ops[op.id].end > now
    }
    preferred = {
        op.id: Frozen(here.start, here.end, here.spot, here.crew)
        for job in changed.jobs
        if job.id not in hit
        for op in job.ops
        for here in [placed.ops[op.id]]
    }
    changed = replace(changed, frozen={**changed.frozen, **frozen}, preferred=preferred)
    value, parts = score(changed, placed)
    return Damage(changed, replace(placed, objective=value, parts=parts), hit, now)


def _begun(week: Week, plan: Plan, now: int) -> tuple[Week, Plan]:
    """Freeze what has begun; what is under way goes on in the mode it was begun in."""
    frozen = dict(week.frozen)
    ops = dict(plan.ops)
    jobs = []
    for job in week.jobs:
        chain = []
        for op in job.ops:
            placed = plan.ops[op.id]
            if placed.start < now:
                frozen[op.id] = Frozen(placed.start, placed.end, placed.spot, placed.crew)
                mode = op.modes[placed.mode]
                # What is done used lamps that may be broken by now: that is no matter any more.
                lamps = 0 if placed.end <= now else mode.lamps
                chain.append(replace(op, modes=(Mode(mode.dur, lamps),)))
                ops[op.id] = replace(placed, mode=0)
            else:
                chain.append(op)
        jobs.append(replace(job, ops=tuple(chain)))
    bare = Plan(PlanStatus.FEASIBLE, ops, plan.waits, seconds=plan.seconds)
    return replace(week, jobs=tuple(jobs), frozen=frozen), bare


def _not_in_the_past(week: Week, plan: Plan, now: int) -> Week:
    """Let nothing that has not begun be moved to before now.

    A job that has begun gets a longer least wait after what is done of it, any other a later
    release. Where the longest wait allowed is over already, it is left: the operation cannot
    be moved in time, and the search says so.
    """
    moment = -(-now // week.grid) * week.grid
    jobs = []
    for job in week.jobs:
        if plan.ops[job.ops[0].id].start >= now:
            jobs.append(replace(job, release=max(job.release, moment)))
            continue
        chain: list[Operation] = []
        before: Placement | None = None
        for op in job.ops:
            here = plan.ops[op.id]
            if before is not None and before.start < now <= here.start and before.end < moment:
                most = moment - before.end if op.lag_max is None else op.lag_max
                lag = min(max(op.lag_min, moment - before.end), most)
                chain.append(replace(op, lag_min=lag))
            else:
                chain.append(op)
            before = here
        jobs.append(replace(job, ops=tuple(chain)))
    return replace(week, jobs=tuple(jobs))


def _apply(week: Week, trouble: Trouble) -> Week:
    match trouble:
        case Longer():
            return _longer(week, trouble)
        case Away():
            return _away(week, trouble)
        case Closed():
            return _closed(week, trouble)
        case FewerLamps():
            return replace(week, lamps=max(0, week.lamps - trouble.count))


def _longer(week: Week, trouble: Longer) -> Week:
    if trouble.op_id not in week.operations:
        raise ProblemError("op_id", trouble.op_id, "name an operation of this week")
    jobs = tuple(
        replace(job, ops=tuple(_lengthened(op, trouble) for op in job.ops)) for job in week.jobs
    )
    return replace(week, jobs=jobs)


def _lengthened(op: Operation, trouble: Longer) -> Operation:
    if op.id != trouble.op_id:
        return op
    return replace(op, modes=tuple(Mode(m.dur + trouble.minutes, m.lamps) for m in op.modes))


def _away(week: Week, trouble: Away) -> Week:
    person = next((one for one in week.crew if one.id == trouble.person), None)
    if person is None:
        raise ProblemError("person", trouble.person, "name one of this week's crew")
    if trouble.end <= trouble.start:
        window = [trouble.start, trouble.end]
        raise ProblemError("end", window, "the end must be after the start")
    own = f"{person.calendar} of {person.id}"
    windows = cut(week.calendars[person.calendar], [(trouble.start, trouble.end)])
    crew = tuple(replace(one, calendar=own) if one is person else one for one in week.crew)
    return replace(week, calendars={**week.calendars, own: tuple(windows)}, crew=crew)


def _closed(week: Week, trouble: Closed) -> Week:
    if trouble.spot not in {spot.id for spot in week.spots}:
        raise ProblemError("spot", trouble.spot, "name a spot of this week")
    window = (trouble.start, trouble.end)
    spots = tuple(
        replace(spot, closures=tuple(join([*spot.closures, window])))
        if spot.id == trouble.spot
        else spot
        for spot in week.spots
    )
    return replace(week, spots=spots)


def _hit(week: Week, plan: Plan) -> tuple[str, ...]:
    """Return the jobs that break the week by themselves, or for which no lamp is left."""
    broken = {job.id for job in week.jobs if not _stands(week, plan, job)}
    lit: list[Use] = []
    for job in sorted(week.jobs, key=lambda job: _first_lit(job, plan)):
        uses = _lamps(job, plan)
        if job.id in broken or not uses:
            continue
        if over_capacity([*lit, *uses], {"lamps": week.lamps}):
            broken.add(job.id)
        else:
            lit += uses
    return tuple(job.id for job in week.jobs if job.id in broken)


def _lamps(job: Job, plan: Plan) -> list[Use]:
    return [
        Use("lamps", here.start, here.end, op.id, lamps)
        for op in job.ops
        for here in [plan.ops[op.id]]
        if (lamps := op.modes[here.mode].lamps)
    ]


def _first_lit(job: Job, plan: Plan) -> int:
    return min((use.start for use in _lamps(job, plan)), default=0)


def _stands(week: Week, plan: Plan, job: Job) -> bool:
    """Return whether a job can stay where the plan has it, the other jobs aside."""
    ids = {op.id for op in job.ops}
    alone = replace(
        week, jobs=(job,), frozen=_of(week.frozen, ids), preferred=_of(week.preferred, ids)
    )
    part = Plan(
        PlanStatus.FEASIBLE,
        {op_id: plan.ops[op_id] for op_id in ids},
        {job.id: plan.waits.get(job.id, ())},
    )
    return not check_plan(alone, part)


def _of(kept: Mapping[str, Frozen], ids: set[str]) -> dict[str, Frozen]:
    return {op_id: one for op_id, one in kept.items() if op_id in ids}
