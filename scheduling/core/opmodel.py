"""One operation in a week's model: when it starts, how long it takes, who does it."""

from __future__ import annotations

from scheduling.core.cpmodel import Layer, Literal, Task, domain_of
from scheduling.core.fit import FitOp
from scheduling.core.forward import Forward, Way
from scheduling.core.freeindex import FreeIndex
from scheduling.core.insertion import LAMPS
from scheduling.core.modelvars import OpVars
from scheduling.core.problem import Operation


class OpModel:
    """Builds the variables of operations into a layer."""

    def __init__(self, layer: Layer, empty: FreeIndex) -> None:
        self.layer, self.empty = layer, empty
        self.grid, self.last = empty.grid, empty.slots

    def build(self, forward: Forward, number: int, op: Operation, hint: FitOp | None) -> OpVars:
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
