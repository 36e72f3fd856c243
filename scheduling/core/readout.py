"""Read one placement out of the feasible moments of a chain, from its end backwards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scheduling.core.fit import Fit, FitOp, FitStatus, Hold, Wait
from scheduling.core.forward import Forward, Way
from scheduling.core.freeindex import Resources, Technician
from scheduling.core.masks import highest, lowest, span, stand
from scheduling.core.problem import Operation
from scheduling.core.values import Window
from scheduling.core.worktime import common, join, within

MOVE_MINUTES = 30
"""One move is worth so many minutes of waiting (common practice, no source)."""
BAY_WAIT_SHARE = 4
"""So many minutes idle in a bay are worth one minute (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class _Stand:
    """Standing at a spot from ``since`` on; ``left`` is the spot of the operation before."""

    since: int
    spot: str
    left: str
    moves: int


def pick_up_slot(forward: Forward) -> tuple[int, str, int] | None:
    """Return the earliest pick-up moment with its spot and the end of the last operation."""
    best: tuple[int, str, int] | None = None
    for spot_id, ends in forward.steps[-1].ends.items():
        moments = ends
        if forward.chain.by_customer:
            moments = stand(ends, forward.free(spot_id)) & forward.open_moments
        if not moments:
            continue
        moment = lowest(moments)
        if best is None or moment < best[0]:
            could = ends & _within_reach(forward.free(spot_id), moment, 0, None)
            best = (moment, spot_id, highest(could) if forward.late else lowest(could))
    return best


@dataclass(frozen=True, slots=True)
class Trace:
    """Where and when each operation is done and the vehicle stands before it, crew aside."""

    placed: tuple[tuple[str, Way, int], ...]
    stands: tuple[_Stand, ...]
    moment: int

    @property
    def since(self) -> int:
        """The moment of the drop-off."""
        return self.stands[0].since


def trace(forward: Forward, pick_up: tuple[int, str, int]) -> Trace:
    """Return the way back from a pick-up moment found by :func:`pick_up_slot`."""
    moment, spot_id, end = pick_up
    steps = forward.steps
    placed: list[tuple[str, Way, int]] = []
    stands: list[_Stand] = []
    for number in range(len(steps) - 1, -1, -1):
        way, start = _latest_start(forward, number, spot_id, end)
        placed.append((spot_id, way, start))
        stand_before = (
            _gap(forward, number, spot_id, start) if number else _arrival(forward, spot_id, start)
        )
        stands.append(stand_before)
        spot_id, end = stand_before.left, stand_before.since
    return Trace(tuple(placed[::-1]), tuple(stands[::-1]), moment)


def _latest_start(forward: Forward, number: int, spot_id: str, end: int) -> tuple[Way, int]:
    step = forward.steps[number]
    lane = step.lanes.number[spot_id]
    ways = [
        (end - way.slots, -way.mode, -k, way)
        for k, (way, starts) in enumerate(step.by_way)
        if end >= way.slots and step.lanes.at(starts, lane, end - way.slots)
    ]
    start, _, _, way = max(ways)
    return way, start


def _within_reach(free: int, until: int, least: int, most: int | None) -> int:
    """Return the moments from which the vehicle can stand in free slots until ``until``."""
    low = (~free & span(0, until)).bit_length()
    if most is not None:
        low = max(low, until - most)
    return span(max(0, low), until - least + 1)


def _cheapest(forward: Forward, options: list[_Stand], start: int) -> _Stand:
    price = -(-MOVE_MINUTES // forward.index.grid)

    def cost(one: _Stand) -> tuple[float, int]:
        wait = start - one.since
        idle = 0 if forward.spots[one.spot].park else wait / BAY_WAIT_SHARE
        when = wait if forward.late else one.since
        return when + idle + price * one.moves, one.moves

    return min(options, key=cost)


def _arrival(forward: Forward, spot_id: str, start: int) -> _Stand:
    """Return the drop-off before the first operation: never earlier than it need be."""
    if not forward.chain.by_customer:
        return _Stand(start, spot_id, spot_id, 0)
    arrivals = forward.open & forward.after_release
    options = []
    for where in forward.spots:
        if _may_enter(forward, where, spot_id, start):
            could = arrivals & _within_reach(forward.free(where), start, 0, None)
            if could:
                options.append(_Stand(highest(could), where, where, int(where != spot_id)))
    return max(options, key=lambda one: (one.since, -one.moves, forward.spots[one.spot].park))


def _may_enter(forward: Forward, left: str, entered: str, moment: int) -> bool:
    if left == entered or not forward.spots[entered].park:
        return True
    return bool(forward.open_moments >> moment & 1)


def _gap(forward: Forward, number: int, spot_id: str, start: int) -> _Stand:
    op, before = forward.chain.ops[number], forward.steps[number - 1]
    grid = forward.index.grid
    least = -(-op.lag_min // grid)
    most = None if op.lag_max is None else op.lag_max // grid
    parks = [] if op.same_spot else _parks(forward, spot_id, start, least, most)
    ended = span(0, start - least + 1)
    options = []
    for left, ends in before.ends.items():
        if (op.same_spot and left != spot_id) or not ends & ended:
            continue
        places = list(parks)
        if _may_enter(forward, left, spot_id, start):
            stay = _within_reach(forward.free(left), start, least, most)
            places = [(left, stay), *(one for one in parks if one[0] != left)]
        for place, reach in places:
            leaving = ends if place == left else ends & forward.open_moments
            could = leaving & reach
            if could:
                since = highest(could) if forward.late else lowest(could)
                moves = int(place != left) + int(place != spot_id)
                options.append(_Stand(since, place, left, moves))
    return _cheapest(forward, options, start)


def _parks(
    forward: Forward, spot_id: str, start: int, least: int, most: int | None
) -> list[tuple[str, int]]:
    """Return where to wait for a start with the moments from which that can be; of alike, one."""
    # Those in which something can be done differ in the moves they save.
    found: dict[tuple[str, int], str] = {}
    for park in forward.parks:
        if _may_enter(forward, park, spot_id, start):
            reach = _within_reach(forward.free(park), start, least, most)
            if reach:
                found.setdefault((park if forward.spots[park].caps else "", reach), park)
    return [(park, reach) for (_, reach), park in found.items()]


def _crew(forward: Forward, op: Operation, way: Way, start: int) -> tuple[Technician, ...]:
    """Choose free people, those with the fewest skills first: the others may be needed."""
    team = next(team for team, starts in way.teams if starts >> start & 1)
    people = sorted(forward.skilled(op), key=lambda one: (len(one.skills), one.id))

    def free(one: Technician) -> bool:
        if team:
            return forward.is_free(one.id, start, way.slots)
        return forward.is_at_work(one.id, start, way.slots)

    if not team:
        able = (one for one in people if free(one))
        return tuple(one for one, _ in zip(able, range(op.crew), strict=False))
    chosen: list[Technician] = []
    calendar_of = forward.index.calendar_of
    for calendar in team:
        alike = (one for one in people if calendar_of[one.id] == calendar and one not in chosen)
        chosen.append(next(one for one in alike if free(one)))
    return tuple(chosen)


def _lamps(forward: Forward, op: Operation, way: Way, start: int) -> tuple[str, ...]:
    needed = op.modes[way.mode].lamps
    free = (
        lamp.id
        for lamp in forward.index.resources.lamps
        for units in range(1, lamp.capacity + 1)
        if forward.is_free(lamp.id, start, way.slots, units)
    )
    return tuple(lamp_id for lamp_id, _ in zip(free, range(needed), strict=False))


def _op(forward: Forward, op: Operation, spot_id: str, way: Way, start: int) -> FitOp:
    grid, base = forward.index.grid, forward.base
    team = _crew(forward, op, way, start) if op.attended else ()
    begin, end = (base + start) * grid, (base + start + way.slots) * grid
    return FitOp(
        op_id=op.id,
        start=begin,
        end=end,
        spot=spot_id,
        crew=tuple(one.id for one in team),
        lamps=_lamps(forward, op, way, start),
        mode=way.mode,
        pieces=pieces_of(op, team, begin, end),
    )


def pieces_of(
    op: Operation, team: Sequence[Technician], begin: int, end: int
) -> tuple[Window, ...]:
    """Return the stretches of work of an operation between its start and end, in minutes."""
    if not team or end <= begin:
        return ()
    work = [(begin, end)]
    if op.pausable:
        for one in team:
            work = common(work, join(within(one.windows, begin, end)))
    return tuple(work)


def read_out(forward: Forward, found: Trace) -> Fit:
    """Return the placement of a trace, with people and lamps chosen."""
    placed, stands, moment = found.placed, found.stands, found.moment
    chain, grid, base = forward.chain, forward.index.grid, forward.base
    ops = tuple(
        _op(forward, op, spot_id, way, start)
        for op, (spot_id, way, start) in zip(chain.ops, placed, strict=True)
    )
    standing = [
        Wait(one.spot, (base + one.since) * grid, op.start)
        for one, op in zip(stands, ops, strict=True)
    ]
    end = (base + moment) * grid
    after = Wait(ops[-1].spot, ops[-1].end, end)
    return Fit(
        status=FitStatus.FOUND,
        start=standing[0].start,
        end=end,
        ops=ops,
        waits=tuple(standing[1:]),
        before=standing[0] if standing[0].end > standing[0].start else None,
        after=after if after.end > after.start else None,
        moves=sum(one.moves for one in stands),
        holds=holds_of(forward.index.resources, ops, standing, end),
    )


def holds_of(
    resources: Resources, ops: Sequence[FitOp], standing: Sequence[Wait], end: int
) -> tuple[Hold, ...]:
    """Return everything that a placement holds, ordered by start.

    Parameters
    ----------
    resources : Resources
        The shop.
    ops : sequence of FitOp
        The placed operations.
    standing : sequence of Wait
        Where the vehicle stands before each of them.
    end : int
        Pick-up.
    """
    holds = []
    for k, op in enumerate(ops):
        begin, leave = op.start, op.end
        if standing[k].spot == op.spot and k == 0:
            begin = standing[0].start
        elif k == 0 or standing[k].spot != ops[k - 1].spot:
            owner = op.op_id if k == 0 else ops[k - 1].op_id
            holds.append(Hold(standing[k].spot, standing[k].start, standing[k].end, owner))
        if k + 1 == len(ops):
            leave = end
        elif standing[k + 1].spot == op.spot:
            leave = standing[k + 1].end
        holds.append(Hold(op.spot, begin, leave, op.op_id))
        holds.extend(Hold(lamp, op.start, op.end, op.op_id) for lamp in op.lamps)
        for person in op.crew:
            unit = resources.by_id[person]
            windows = unit.windows if isinstance(unit, Technician) else ()
            at_work = join(within(windows, op.start, op.end))
            holds.extend(Hold(person, a, b, op.op_id) for a, b in at_work)
    held = (hold for hold in holds if hold.end > hold.start)
    return tuple(sorted(held, key=lambda hold: (hold.start, hold.resource)))
