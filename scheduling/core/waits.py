"""Where a vehicle can stand on a board between two operations, and until when."""

from __future__ import annotations

from scheduling.core.board import Board
from scheduling.core.timetable import Task, Timetable

STAY_SLOTS_MINUTES = 120
"""A vehicle stands in a bay so long before it is parked (common practice, no source)."""


class Waits:
    """What is free to wait in.

    Parameters
    ----------
    timetable : Timetable
        The week.
    board : Board
        What is taken of it.
    """

    def __init__(self, timetable: Timetable, board: Board) -> None:
        self.timetable, self.board = timetable, board
        self.never = timetable.never
        self.open = timetable.open_moments
        self.next_open = timetable.next_open
        self.full = timetable.full_cell
        self.base = [timetable.cell_of[spot.id] for spot in timetable.spots]
        self.is_park = [spot.park for spot in timetable.spots]
        self.patience = STAY_SLOTS_MINUTES // timetable.grid

    def _reach(self, spot: int, end: int) -> int:
        """Return until when a vehicle can wait that is done in a spot."""
        cells, full = self.board.cells, self.full
        reach = self._free_until(cells[full[spot]], end)
        if self.open >> end & 1:
            for park in self.timetable.parks:
                if reach < self.never:
                    reach = max(reach, self._free_until(cells[full[park]], end))
        return reach

    def _free_until(self, busy: int, moment: int) -> int:
        ahead = busy >> moment
        return moment + (ahead & -ahead).bit_length() - 1 if ahead else self.never

    def _may_enter(self, left: int, end: int, spot: int, start: int) -> bool:
        if not self.is_park[spot] or spot == left or self.open >> start & 1:
            return True
        busy = self.board.cells[self.full[spot]]
        return bool(self.open >> end & 1) and self._free_until(busy, end) >= start

    def _can_wait(self, tasks: list[Task], spots: list[int], k: int, end: int, start: int) -> bool:
        """Return whether the vehicle can wait between operations k - 1 and k, and go on to k."""
        left, spot = spots[k - 1], spots[k]
        if tasks[k].op.same_spot:
            return self._free_until(self.board.cells[self.full[left]], end) >= start
        return self._reach(left, end) >= start and self._may_enter(left, end, spot, start)

    def _wait(self, here: int, end: int, following: int, start: int, same: bool) -> int:
        """Return where the vehicle stands between two operations."""
        if same or start == end:
            return here
        goes_on = following == here or not self.is_park[following] or self.open >> start & 1
        patience = self.patience * (2 if here == following else 1)
        short = self.is_park[here] or start - end <= patience
        if goes_on and short and self._free(here, end, start):
            return here
        if self.open >> end & 1:
            if self.is_park[following] and self._free(following, end, start):
                return following
            for park in self.timetable.parks if goes_on else ():
                if park != here and self._free(park, end, start):
                    return park
        return here

    def _free(self, spot: int, start: int, end: int) -> bool:
        return not self.board.cells[self.full[spot]] >> start & ((1 << (end - start)) - 1)
