"""Some jobs of a week as a CP-SAT model, with all the others held where they are.

Times are slots of the grid. Each operation has *variants* (a mode, an elapsed time and, for
pausable work, the calendars of its crew) with the starts that each allows; operations in the
same spot share one hold of it, which lasts until the next one starts elsewhere or, if the
vehicle goes to parking, until the last of them ends.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise, zip_longest
from math import lcm

from ortools.sat.python import cp_model

from scheduling.core.cpmodel import Layer, Literal, Task, domain_of
from scheduling.core.fit import Fit, FitOp, FitStatus, Wait
from scheduling.core.forward import Forward, Way
from scheduling.core.freeindex import FreeIndex, Technician
from scheduling.core.insertion import LAMPS, Draft, takings
from scheduling.core.problem import Job, Operation
from scheduling.core.readout import holds_of, pieces_of


@dataclass
class OpVars:
    """Variables of one operation."""

    op: Operation
    task: Task
    variants: list[tuple[Way, Literal]]
    crew: dict[str, Literal]


@dataclass
class Stand:
    """Operations that share a spot, and the spots that may be it."""

    ops: list[OpVars]
    spots: dict[str, Literal]


@dataclass
class Gap:
    """Between two stands: stay until the next starts, or go to one of the parking spots."""

    stay: Literal
    parks: dict[str, Literal]
    same: list[Literal]


@dataclass
class JobVars:
    """Variables of one job."""

    job: Job
    stands: list[Stand]
    gaps: list[Gap]

    @property
    def ops(self) -> list[OpVars]:
        """All operations in order."""
        return [one for stand in self.stands for one in stand.ops]


class WeekModel:
    """A model of the free jobs of a draft; everything else that is placed stays.

    Parameters
    ----------
    draft : Draft
        The week and what is placed. Free jobs that are placed give the hint.
    free : sequence of str
        Jobs to decide anew. They have to be possible in an empty shop.
    empty : FreeIndex
        Index of the same resources with nothing placed.
    """

    def __init__(self, draft: Draft, free: Sequence[str], empty: FreeIndex) -> None:
        self.draft, self.week, self.empty = draft, draft.week, empty
        self.layer = Layer()
        self.grid = self.week.grid
        self.last = empty.slots
        self._moments = cp_model.Domain(0, self.last)
        self.spots = {spot.id: spot for spot in empty.resources.spots}
        self.jobs = [self._job(draft.jobs[job_id]) for job_id in free]
        self._take(set(free))
        capacities = {one.id: one.capacity for one in empty.resources.spots}
        self.layer.close(capacities | {LAMPS: max(self.week.lamps, 0)})
        self._minimise()

    # Building ------------------------------------------------------------------------------

    def _job(self, job: Job) -> JobVars:
        chain = self.draft.chains[job.id]
        forward = Forward(chain, self.empty, 0, self.empty.blocks, job.release)
        if forward.run() is not None:
            raise ValueError(f"{job.id} cannot be done in an empty shop")
        fit = self.draft.placed.get(job.id)
        stands: list[Stand] = []
        for number, op in enumerate(job.ops):
            hinted = fit.ops[number] if fit else None
            variables = self._op(forward, number, op, hinted)
            if number and op.same_spot:
                stands[-1].ops.append(variables)
            else:
                stands.append(self._stand(forward, number, op, variables, hinted))
        for before, after in pairwise(self._in_order(stands)):
            self.layer.lag(
                before.task.end,
                after.task.start,
                -(-after.op.lag_min // self.grid),
                None if after.op.lag_max is None else after.op.lag_max // self.grid,
            )
        gaps = self._gaps(job, stands, fit, forward)
        self._hold(stands, gaps, fit)
        return JobVars(job, stands, gaps)

    @staticmethod
    def _in_order(stands: Sequence[Stand]) -> list[OpVars]:
        return [one for stand in stands for one in stand.ops]

    def _op(self, forward: Forward, number: int, op: Operation, hint: FitOp | None) -> OpVars:
        choices = forward.steps[number].choices
        starts_of: dict[int, int] = {}
        ways: dict[int, Way] = {}
        for _, way, starts in choices:
            starts_of[id(way)] = starts_of.get(id(way), 0) | starts
            ways[id(way)] = way
        anywhere = 0
        for starts in starts_of.values():
            anywhere |= starts
        layer = self.layer
        when = None if hint is None else (hint.start // self.grid, hint.end // self.grid)
        sizes = [way.slots for way in ways.values()]
        task = layer.task(op.id, domain_of(anywhere), sizes, self.last, when)
        crew = self._crew_literals(forward, op, hint)
        variants: list[tuple[Way, Literal]] = []
        for key, way in ways.items():
            for team, mask in way.teams or (((), forward.moments),):
                starts = starts_of[key] & mask
                if not starts:
                    continue
                split = Way(way.mode, way.slots, starts, ((team, starts),))
                literal = layer.literal(f"{op.id} way", self._is_hinted(split, hint))
                variants.append((split, literal))
                layer.starts_within(task, domain_of(starts), literal)
                if not isinstance(task.size, int):
                    layer.model.add(task.size == way.slots).only_enforce_if(literal)
                self._staff(forward, op, task, split, literal, crew)
        layer.choose_one([literal for _, literal in variants])
        for person, literal in crew.items():
            layer.uses_one(person, task, literal)
        self._lamps(op, task, variants)
        return OpVars(op, task, variants, crew)

    def _is_hinted(self, way: Way, hint: FitOp | None) -> bool | None:
        if hint is None:
            return None
        if way.mode != hint.mode or way.slots * self.grid != hint.end - hint.start:
            return False
        team, _ = way.teams[0]
        if not team:
            return True
        calendars = sorted(self.empty.calendar_of[person] for person in hint.crew)
        return calendars == sorted(team)

    def _crew_literals(
        self, forward: Forward, op: Operation, hint: FitOp | None
    ) -> dict[str, Literal]:
        if not op.attended:
            return {}
        return {
            one.id: self.layer.literal(
                f"{op.id} by {one.id}", None if hint is None else one.id in hint.crew
            )
            for one in forward.skilled(op)
        }

    def _staff(
        self,
        forward: Forward,
        op: Operation,
        task: Task,
        way: Way,
        literal: Literal,
        crew: dict[str, Literal],
    ) -> None:
        """Tie the people of a variant to it: by calendar where it pauses, else by shift."""
        team, _ = way.teams[0]
        if team:
            for calendar in {self.empty.calendar_of[person] for person in crew}:
                of_calendar = [
                    one for name, one in crew.items() if self.empty.calendar_of[name] == calendar
                ]
                count = sum(of_calendar) == team.count(calendar)
                self.layer.model.add(count).only_enforce_if(literal)
        elif crew:
            self.layer.model.add(sum(crew.values()) == op.crew).only_enforce_if(literal)
            for person in forward.skilled(op):
                at_work = forward.at_work_for(person, way.slots)
                self.layer.starts_within(task, domain_of(at_work), literal, crew[person.id])

    def _lamps(self, op: Operation, task: Task, variants: list[tuple[Way, Literal]]) -> None:
        for way, literal in variants:
            lamps = op.modes[way.mode].lamps
            if lamps:
                self.layer.holds_some(LAMPS, (task.start, way.slots, task.end), lamps, literal)

    def _stand(
        self, forward: Forward, number: int, op: Operation, first: OpVars, hint: FitOp | None
    ) -> Stand:
        spot_ids = dict.fromkeys(spot_id for spot_id, _, _ in forward.steps[number].choices)
        literals = {
            spot_id: self.layer.literal(
                f"{op.id} in {spot_id}", None if hint is None else spot_id == hint.spot
            )
            for spot_id in spot_ids
        }
        self.layer.choose_one(list(literals.values()))
        return Stand([first], literals)

    def _gaps(
        self, job: Job, stands: Sequence[Stand], fit: Fit | None, forward: Forward
    ) -> list[Gap]:
        gaps = []
        parks = [spot.id for spot in self.empty.resources.spots if spot.park]
        at = 0
        for before, after in pairwise(stands):
            at += len(before.ops)
            wait = fit.waits[at - 1].spot if fit else None
            stayed = None if fit is None else wait == fit.ops[at - 1].spot
            name = f"{job.id} gap {at}"
            stay = self.layer.literal(f"{name} stay", stayed)
            parked = {
                park: self.layer.literal(
                    f"{name} {park}", None if fit is None else not stayed and wait == park
                )
                for park in parks
            }
            self.layer.choose_one([stay, *parked.values()])
            gap = Gap(stay, parked, [])
            self._moves_in_opening(gap, before, after, forward, fit, at)
            gaps.append(gap)
        return gaps

    def _moves_in_opening(
        self,
        gap: Gap,
        before: Stand,
        after: Stand,
        forward: Forward,
        fit: Fit | None,
        at: int,
    ) -> None:
        """Move into parking in opening hours only; find where nothing moves at all."""
        model = self.layer.model
        opened = domain_of(forward.open_moments)
        end, start = before.ops[-1].task, after.ops[0].task
        for park, parked in gap.parks.items():
            leaving = model.add_linear_expression_in_domain(end.end, opened)
            leaving.only_enforce_if(parked)
            if park in before.spots:
                model.add_implication(parked, ~before.spots[park])
        for spot_id, here in after.spots.items():
            sources = [(gap.stay, before.spots.get(spot_id))]
            if spot_id in gap.parks:
                sources.append((gap.parks[spot_id], None))
            unmoved = []
            for waited, there in sources:
                if there is None and waited is gap.stay:
                    continue
                parts = [waited, here] if there is None else [waited, here, there]
                was = self._was_same(fit, at, spot_id, parked=waited is not gap.stay)
                same = self._both(parts, was)
                gap.same.append(same)
                unmoved.append(same)
            if self.spots[spot_id].park:
                entering = model.add_linear_expression_in_domain(start.start, opened)
                entering.only_enforce_if(here, *(~same for same in unmoved))

    def _was_same(self, fit: Fit | None, at: int, spot_id: str, *, parked: bool) -> bool | None:
        if fit is None:
            return None
        left, wait, entered = fit.ops[at - 1].spot, fit.waits[at - 1].spot, fit.ops[at].spot
        return entered == wait == spot_id and (wait != left) == parked

    def _both(self, parts: list[Literal], hint: bool | None) -> Literal:
        every = self.layer.literal("same spot", hint)
        for part in parts:
            self.layer.model.add_implication(every, part)
        self.layer.model.add_bool_or([every, *(~part for part in parts)])
        return every

    def _hold(self, stands: Sequence[Stand], gaps: Sequence[Gap], fit: Fit | None) -> None:
        """Hold the spots from the first start to leaving, and the parking between."""
        at = 0
        for stand, gap, after in zip_longest(stands, gaps, stands[1:]):
            at += len(stand.ops)
            start, end = stand.ops[0].task.start, stand.ops[-1].task.end
            hints: tuple[int | None, int | None] = (None, None)
            if fit is not None:
                begun = fit.ops[at - len(stand.ops)].start // self.grid
                left = fit.ops[at - 1].end // self.grid
                if gap is not None and fit.waits[at - 1].spot == fit.ops[at - 1].spot:
                    left = fit.ops[at].start // self.grid
                hints = (left, left - begun)
            leave = end
            if gap is not None and after is not None:
                leave = self.layer.number(self._moments, "leave", hints[0])
                entered = after.ops[0].task.start
                self.layer.model.add(leave == entered).only_enforce_if(gap.stay)
                self.layer.model.add(leave == end).only_enforce_if(~gap.stay)
                self._park(gap, end, entered, fit, at)
            if gap is None and len(stand.ops) == 1:
                size = stand.ops[0].task.size
            else:
                size = self.layer.number(self._moments, "hold", hints[1])
            for spot_id, literal in stand.spots.items():
                self._hold_spot(spot_id, (start, size, leave), literal)

    def _park(
        self, gap: Gap, end: cp_model.IntVar, entered: cp_model.IntVar, fit: Fit | None, at: int
    ) -> None:
        if not gap.parks:
            return
        between = None
        if fit is not None:
            between = (fit.ops[at].start - fit.ops[at - 1].end) // self.grid
        size = self.layer.number(self._moments, "gap", between)
        self.layer.model.add(end + size == entered)
        for park, literal in gap.parks.items():
            self._hold_spot(park, (end, size, entered), literal)

    def _hold_spot(
        self,
        spot_id: str,
        span: tuple[cp_model.IntVar, cp_model.IntVar | int, cp_model.IntVar],
        literal: Literal,
    ) -> None:
        spot = self.spots[spot_id]
        if spot.capacity >= len(self.week.jobs) and not spot.closures:
            return  # room for every vehicle at once: it can never bind
        if spot.capacity == 1:
            self.layer.holds_one(spot_id, *span, literal)
        else:
            self.layer.holds_some(spot_id, span, 1, literal)

    def _take(self, free: set[str]) -> None:
        """Take what closures and all the other jobs hold."""
        grid = self.grid
        pools = {one.id for one in self.spots.values() if one.capacity > 1} | {LAMPS}
        for spot in self.spots.values():
            for start, end in spot.closures:
                units = spot.capacity if spot.id in pools else None
                self.layer.taken(spot.id, start // grid, end // grid, units)
        for job_id, fit in self.draft.placed.items():
            if job_id not in free:
                for resource, start, end in takings(fit):
                    units = 1 if resource in pools else None
                    self.layer.taken(resource, start // grid, end // grid, units)

    def _minimise(self) -> None:
        goal, grid = self.week.objective, self.grid
        terms: list[tuple[Fraction, cp_model.IntVar]] = []
        self.offset = Fraction(0)
        per = goal.per
        for one in self.jobs:
            job, end = one.job, one.ops[-1].task.end
            fit = self.draft.placed.get(job.id)
            due = job.due // grid
            late_hint = None if fit is None else max(0, fit.end // grid - due)
            if goal.tardiness and job.weight:
                reach = cp_model.Domain(0, max(0, self.last - due))
                late = self.layer.number(reach, f"{job.id} late", late_hint)
                self.layer.model.add(late >= end - due)
                terms.append((_exact(goal.tardiness) * _exact(job.weight) * grid, late))
            terms.append((_exact(goal.flow) * grid, end))
            self.offset -= _exact(goal.flow) * job.release
            for gap in one.gaps:
                move = _exact(goal.move) * per
                terms.append((move, gap.stay))
                terms += [(2 * move, parked) for parked in gap.parks.values()]
                terms += [(-move, same) for same in gap.same]
        if goal.makespan:
            terms.append((_exact(goal.makespan) * grid, self._makespan()))
        self.scale = lcm(1, *(weight.denominator for weight, _ in terms))
        objective = [int(weight * self.scale) * variable for weight, variable in terms if weight]
        self.layer.model.minimize(sum(objective))

    def _makespan(self) -> cp_model.IntVar:
        free = {one.job.id for one in self.jobs}
        placed = self.draft.placed
        fixed = max((fit.end for job_id, fit in placed.items() if job_id not in free), default=0)
        hint = None
        if free <= placed.keys():
            hint = max(fit.end for fit in placed.values()) // self.grid
        latest = self.layer.number(cp_model.Domain(fixed // self.grid, self.last), "latest", hint)
        for one in self.jobs:
            self.layer.model.add(latest >= one.ops[-1].task.end)
        return latest

    def in_points(self, scaled: float) -> float:
        """Return a value of the model's objective in the points of the week."""
        return float((Fraction(scaled) / self.scale + self.offset) / self.week.objective.per)

    # Reading -------------------------------------------------------------------------------

    def read(self, solver: cp_model.CpSolver) -> dict[str, Fit]:
        """Return the solution as fits by job."""
        return {one.job.id: self._read_job(solver, one) for one in self.jobs}

    def _read_job(self, solver: cp_model.CpSolver, one: JobVars) -> Fit:
        ops: list[FitOp] = []
        standing: list[Wait] = []
        for number, stand in enumerate(one.stands):
            spot_id = _chosen(solver, stand.spots)
            for variables in stand.ops:
                placed = self._read_op(solver, variables, spot_id)
                where = ops[-1].spot if ops else spot_id
                if variables is stand.ops[0] and number:
                    gap = one.gaps[number - 1]
                    if not solver.boolean_value(gap.stay):
                        where = _chosen(solver, gap.parks)
                since = ops[-1].end if ops else placed.start
                standing.append(Wait(where, since, placed.start))
                ops.append(placed)
        path = [ops[0].spot]
        for wait, op in zip(standing[1:], ops[1:], strict=True):
            path += [wait.spot, op.spot]
        return Fit(
            status=FitStatus.FOUND,
            start=ops[0].start,
            end=ops[-1].end,
            ops=tuple(ops),
            waits=tuple(standing[1:]),
            moves=sum(a != b for a, b in pairwise(path)),
            holds=holds_of(self.empty.resources, ops, standing, ops[-1].end),
        )

    def _read_op(self, solver: cp_model.CpSolver, variables: OpVars, spot_id: str) -> FitOp:
        op = variables.op
        way = next(way for way, literal in variables.variants if solver.boolean_value(literal))
        start = solver.value(variables.task.start) * self.grid
        end = solver.value(variables.task.end) * self.grid
        crew = [name for name, literal in variables.crew.items() if solver.boolean_value(literal)]
        units = [self.empty.resources.by_id[person] for person in crew]
        team = [unit for unit in units if isinstance(unit, Technician)]
        return FitOp(
            op_id=op.id,
            start=start,
            end=end,
            spot=spot_id,
            crew=tuple(crew),
            lamps=(LAMPS,) * op.modes[way.mode].lamps,
            mode=way.mode,
            pieces=pieces_of(op, team, start, end),
        )


def _chosen(solver: cp_model.CpSolver, literals: dict[str, Literal]) -> str:
    return next(name for name, literal in literals.items() if solver.boolean_value(literal))


def _exact(value: float) -> Fraction:
    return Fraction(value).limit_denominator(1000)
