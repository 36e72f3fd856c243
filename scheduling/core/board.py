"""What is taken while a plan is made: one big integer for each unit, one bit for each slot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scheduling.core.fit import Fit, FitOp, FitStatus, Wait
from scheduling.core.freeindex import FreeIndex
from scheduling.core.insertion import LAMPS, takings
from scheduling.core.masks import span
from scheduling.core.readout import holds_of, pieces_of
from scheduling.core.timetable import Step, Timetable

Taking = tuple[int, int]
"""First cell of a resource and the slots taken of it."""


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """A job's place on a board, in slots.

    ``steps`` has (start, end, way, spot) of each operation and ``waits`` the spot where the
    vehicle stands after each but the last; both are empty for a place that came as a fit.
    """

    cost: float
    start: int
    end: int
    moves: int
    taken: tuple[Taking, ...]
    steps: tuple[tuple[int, int, Step, int], ...] = ()
    waits: tuple[int, ...] = ()
    fit: Fit | None = None


class Board:
    """What of each resource is taken.

    Attributes
    ----------
    cells : list of int
        Taken slots. A resource with room for several has a cell for each unit; slot ``t`` is set
        in the ``k``-th when more than ``k`` units are in use. Copy the list to come back to it.
    """

    def __init__(self, timetable: Timetable) -> None:
        self.timetable = timetable
        self.cells = [0] * timetable.cells
        grid = timetable.grid
        for spot in timetable.spots:
            first = timetable.cell_of[spot.id]
            for start, end in spot.closures:
                closed = span(start // grid, min(-(-end // grid), timetable.slots))
                for cell in range(first, first + spot.capacity):
                    self.cells[cell] |= closed

    def take(self, taken: Sequence[Taking]) -> None:
        """Take one unit of each."""
        cells, room = self.cells, self.timetable.room
        for cell, mask in taken:
            if room[cell] == 1:
                cells[cell] |= mask
                continue
            last, left = cell + room[cell], mask
            while left and cell < last:
                before = cells[cell]
                cells[cell] = before | left
                left &= before
                cell += 1

    def give_back(self, taken: Sequence[Taking]) -> None:
        """Give back what was taken."""
        cells, room = self.cells, self.timetable.room
        for cell, mask in taken:
            if room[cell] == 1:
                cells[cell] &= ~mask
                continue
            at, left = cell + room[cell] - 1, mask
            while left and at >= cell:
                before = cells[at]
                cells[at] = before & ~left
                left &= ~before
                at -= 1


def placed_of(timetable: Timetable, fit: Fit, cost: float) -> Placed:
    """Return a fit as a place on a board."""
    grid = timetable.grid
    taken = tuple(
        (timetable.cell_of[resource], span(start // grid, end // grid))
        for resource, start, end in takings(fit)
        if end > start
    )
    return Placed(cost, fit.start // grid, fit.end // grid, fit.moves, taken, fit=fit)


def fit_of(timetable: Timetable, job_id: str, placed: Placed) -> Fit:
    """Return a place on a board as a fit."""
    if placed.fit is not None:
        return placed.fit
    empty, grid = timetable.empty, timetable.grid
    ops = tuple(
        _fit_op(timetable, job_id, number, step) for number, step in enumerate(placed.steps)
    )
    spots = timetable.spots
    waits = [
        Wait(spots[where].id, before.end, after.start)
        for where, before, after in zip(placed.waits, ops, ops[1:], strict=False)
    ]
    standing = [Wait(ops[0].spot, ops[0].start, ops[0].start), *waits]
    return Fit(
        FitStatus.FOUND,
        start=ops[0].start,
        end=placed.end * grid,
        ops=ops,
        waits=tuple(waits),
        moves=placed.moves,
        holds=holds_of(empty.resources, ops, standing, ops[-1].end),
    )


def _fit_op(
    timetable: Timetable, job_id: str, number: int, placed: tuple[int, int, Step, int]
) -> FitOp:
    start, end, step, spot = placed
    op = timetable.routes[job_id].job.ops[number]
    team = [timetable.people[one] for one in step.team]
    begin, until = start * timetable.grid, end * timetable.grid
    return FitOp(
        op_id=op.id,
        start=begin,
        end=until,
        spot=timetable.spots[spot].id,
        crew=tuple(one.id for one in team),
        lamps=(LAMPS,) * step.lamps,
        mode=step.mode,
        pieces=pieces_of(op, team, begin, until),
    )


def index_of(timetable: Timetable, placed: Sequence[Placed]) -> FreeIndex:
    """Return an index with all these places taken."""
    index = FreeIndex(timetable.empty.resources)
    names = {cell: name for name, cell in timetable.cell_of.items()}
    grid = timetable.grid
    for one in placed:
        for cell, mask in one.taken:
            start = (mask & -mask).bit_length() - 1
            index.add(names[cell], start * grid, mask.bit_length() * grid)
    return index
