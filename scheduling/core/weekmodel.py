"""Some jobs of a week as a CP-SAT model, with all the others held where they are.

Times are slots of the grid. Each operation has *variants* (a mode, an elapsed time and, for
pausable work, the calendars of its crew) with the starts that each allows; operations in the
same spot share one hold of it, which lasts until the next one starts elsewhere or, if the
vehicle goes to parking, until the last of them ends.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise, zip_longest
from math import ceil, lcm

from ortools.sat.python import cp_model

from scheduling.core.cpmodel import Layer, Literal, domain_of
from scheduling.core.fit import Fit, FitOp
from scheduling.core.forward import Forward
from scheduling.core.freeindex import FreeIndex
from scheduling.core.insertion import LAMPS, Draft, takings
from scheduling.core.modelchange import note_changes
from scheduling.core.modelread import read_job
from scheduling.core.modelvars import Gap, JobVars, OpVars, Stand
from scheduling.core.opmodel import OpModel
from scheduling.core.problem import Job, Operation


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
        self.ops = OpModel(self.layer, empty)
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
            variables = self.ops.build(forward, number, op, hinted)
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
        one = JobVars(job, stands, gaps)
        note_changes(self.layer, one, self.week.preferred, self.grid, fit)
        return one

    @staticmethod
    def _in_order(stands: Sequence[Stand]) -> list[OpVars]:
        return [one for stand in stands for one in stand.ops]

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
        always = self._free_parking(forward)
        if always is not None:
            return [Gap(None, {}, [], always) for _ in stands[1:]]
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
            opened = domain_of(forward.open_moments)
            self._parking_in_opening(gap, before, after, opened)
            self._find_unmoved(gap, stay, (before, after), opened, (fit, at))
            gaps.append(gap)
        return gaps

    def _free_parking(self, forward: Forward) -> str | None:
        """Return a parking spot that is as good as not being there, if there is one."""
        if self.week.objective.move or forward.open_moments != forward.moments:
            return None
        for spot in self.empty.resources.spots:
            if spot.park and not spot.closures and spot.capacity >= len(self.week.jobs):
                return spot.id
        return None

    def _parking_in_opening(
        self, gap: Gap, before: Stand, after: Stand, opened: cp_model.Domain
    ) -> None:
        """Go to parking in opening hours only, and not to where the vehicle is already."""
        model = self.layer.model
        end = before.ops[-1].task.end
        for park, parked in gap.parks.items():
            model.add_linear_expression_in_domain(end, opened).only_enforce_if(parked)
            if park in before.spots:
                model.add_implication(parked, ~before.spots[park])

    def _find_unmoved(
        self,
        gap: Gap,
        stay: Literal,
        stands: tuple[Stand, Stand],
        opened: cp_model.Domain,
        placed: tuple[Fit | None, int],
    ) -> None:
        """Find where a vehicle does not move to start; into a parking spot only in opening."""
        before, after = stands
        model = self.layer.model
        start = after.ops[0].task.start
        for spot_id, here in after.spots.items():
            unmoved = []
            if spot_id in before.spots:
                parts = [stay, here, before.spots[spot_id]]
                unmoved.append(self._both(parts, self._was_same(*placed, spot_id, parked=False)))
            if spot_id in gap.parks:
                parts = [gap.parks[spot_id], here]
                unmoved.append(self._both(parts, self._was_same(*placed, spot_id, parked=True)))
            gap.same += unmoved
            if self.spots[spot_id].park:
                entering = model.add_linear_expression_in_domain(start, opened)
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
            stay = None if gap is None else gap.stay
            left, held = self._hold_hints(stand, fit, at, may_stay=stay is not None)
            leave = end
            if stay is not None and gap is not None and after is not None:
                leave = self.layer.number(self._moments, "leave", left)
                entered = after.ops[0].task.start
                self.layer.model.add(leave == entered).only_enforce_if(stay)
                self.layer.model.add(leave == end).only_enforce_if(~stay)
                self._park(gap, end, entered, fit, at)
            if stay is None and len(stand.ops) == 1:
                size = stand.ops[0].task.size
            else:
                size = self.layer.number(self._moments, "hold", held)
            for spot_id, literal in stand.spots.items():
                self._hold_spot(spot_id, (start, size, leave), literal)

    def _hold_hints(
        self, stand: Stand, fit: Fit | None, at: int, *, may_stay: bool
    ) -> tuple[int | None, int | None]:
        """Return when a placed vehicle leaves a spot, and how long it holds it, in slots."""
        if fit is None:
            return None, None
        begun = fit.ops[at - len(stand.ops)].start // self.grid
        left = fit.ops[at - 1].end // self.grid
        if may_stay and fit.waits[at - 1].spot == fit.ops[at - 1].spot:
            left = fit.ops[at].start // self.grid
        return left, left - begun

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
            if one.changed is not None and goal.change:
                terms.append((_exact(goal.change) * per, one.changed))
            for gap in one.gaps:
                if gap.stay is None:
                    continue
                move = _exact(goal.move) * per
                terms.append((move, gap.stay))
                terms += [(2 * move, parked) for parked in gap.parks.values()]
                terms += [(-move, same) for same in gap.same]
        if goal.makespan:
            terms.append((_exact(goal.makespan) * grid, self._makespan()))
        self.scale = lcm(1, *(weight.denominator for weight, _ in terms))
        objective = [int(weight * self.scale) * variable for weight, variable in terms if weight]
        self.objective = sum(objective)
        self.layer.model.minimize(self.objective)

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

    @property
    def without_choice(self) -> bool:
        """Whether nothing is open but the times: one spot, one way and one wait for each step."""
        return all(
            len(stand.spots) == 1 and all(len(op.variants) == 1 for op in stand.ops)
            for one in self.jobs
            for stand in one.stands
        ) and all(gap.stay is None for one in self.jobs for gap in one.gaps)

    def at_least(self, points: float) -> None:
        """Tell a model of the whole week a proven bound: it then looks for plans that are near it.

        Left out where a weight is no short fraction, as the model then rounds it.
        """
        goal = self.week.objective
        prices = (goal.tardiness, goal.flow, goal.move, goal.makespan, goal.change)
        weights = (*prices, *(one.job.weight for one in self.jobs))
        if all(_exact(weight) == Fraction(weight) for weight in weights):
            safe = Fraction(points) - Fraction(1, 10**6)
            scaled = ceil((safe * goal.per - self.offset) * self.scale)
            self.layer.model.add(self.objective >= scaled)

    def in_points(self, scaled: float) -> float:
        """Return a value of the model's objective in the points of the week."""
        return float((Fraction(scaled) / self.scale + self.offset) / self.week.objective.per)

    def read(self, solver: cp_model.CpSolver) -> dict[str, Fit]:
        """Return the solution as fits by job."""
        return {one.job.id: read_job(solver, one, self.empty.resources) for one in self.jobs}


def _exact(value: float) -> Fraction:
    return Fraction(value).limit_denominator(1000)
