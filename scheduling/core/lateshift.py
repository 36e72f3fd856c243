"""Move a job's operations as late as its end allows, so that nothing stands about for nothing."""

from __future__ import annotations

from bisect import bisect_right

from scheduling.core.timetable import Step, Task
from scheduling.core.waits import Waits

Spell = tuple[int, int, Step]
"""Start and end of an operation, and the way it is done."""
MOST_SHIFTS = 12
"""Places tried for operations that share a spot, from the latest on."""


class LateShift(Waits):
    """Shifts operations; the last one stays where it is.

    Attributes
    ----------
    together : bool
        Whether those that share a spot may also jump over what is in it meanwhile: the vehicle
        then comes later and waits less, but where it goes to is taken from the jobs after it.
    """

    together = False

    def _later(self, tasks: list[Task], spells: list[Spell], spots: list[int], k: int) -> None:
        """Shift one operation between its neighbours."""
        until = spells[k + 1][0] - tasks[k + 1].lag_least
        if spells[k][2].lamps:
            self._without_lamps(tasks, spells, spots, k, until)
        found = self._latest(spells[k], self.board.cells[self.full[spots[k]]], until)
        if found is not None and self._fits_between(tasks, spells, spots, k, found[0], found[1]):
            spells[k] = found

    def _later_together(
        self, tasks: list[Task], spells: list[Spell], spots: list[int], span: tuple[int, int]
    ) -> None:
        """Shift the operations of a span, which share a spot, past what is in it meanwhile."""
        first, last = span
        until = spells[last + 1][0] - tasks[last + 1].lag_least
        for _ in range(MOST_SHIFTS):
            found, until = self._latest_together(tasks, spells, spots, span, until)
            if until <= spells[last][1]:
                return
            if not found:
                continue
            start, end = found[0][0], found[-1][1]
            if self._may_come(tasks, spells, spots, first, start) and self._may_leave(
                tasks, spells, spots, last, end
            ):
                spells[first : last + 1] = found
                return
            until = end - 1

    def _latest_together(
        self,
        tasks: list[Task],
        spells: list[Spell],
        spots: list[int],
        span: tuple[int, int],
        until: int,
    ) -> tuple[list[Spell], int]:
        """Return the operations of a span as late as can be; or none, and until when to try."""
        first, last = span
        busy = self.board.cells[self.full[spots[first]]]
        found: list[Spell] = []
        limit = until
        for k in range(last, first - 1, -1):
            spell = self._latest(spells[k], busy, limit)
            if spell is None:
                return [], 0
            if found:
                end, after = spell[1], found[0][0]
                between = busy >> end & ((1 << (after - end)) - 1)
                if between:
                    return [], end + (between & -between).bit_length() - 1
                if after - end > tasks[k + 1].lag_most:
                    return [], found[-1][1] - (after - end - tasks[k + 1].lag_most)
            found.insert(0, spell)
            limit = spell[0] - tasks[k].lag_least
        return found, until

    def _latest(self, spell: Spell, busy: int, until: int) -> Spell | None:
        """Return an operation as late as it can end by ``until``, if later than it is."""
        start, end, step = spell
        if until <= end:
            return None
        cells = self.board.cells
        for cell in step.cells:
            busy |= cells[cell]
        while True:
            at = bisect_right(step.end, until) - 1
            if at < 0 or step.start[at] <= start:
                return None
            new_start, new_end = step.start[at], step.end[at]
            clash = busy >> new_start & ((1 << (new_end - new_start)) - 1)
            if not clash:
                return new_start, new_end, step
            until = new_start + (clash & -clash).bit_length() - 1

    def _fits_between(
        self,
        tasks: list[Task],
        spells: list[Spell],
        spots: list[int],
        k: int,
        start: int,
        end: int,
    ) -> bool:
        """Return whether an operation can be moved without a change of its neighbours."""
        return self._may_leave(tasks, spells, spots, k, end) and self._may_come(
            tasks, spells, spots, k, start
        )

    def _may_leave(
        self, tasks: list[Task], spells: list[Spell], spots: list[int], k: int, end: int
    ) -> bool:
        """Return whether operation ``k`` may end at a moment and the next stay where it is."""
        after = spells[k + 1][0]
        return after - end <= tasks[k + 1].lag_most and self._can_wait(
            tasks, spots, k + 1, end, after
        )

    def _may_come(
        self, tasks: list[Task], spells: list[Spell], spots: list[int], k: int, start: int
    ) -> bool:
        """Return whether operation ``k`` may start at a moment and the one before stay."""
        if k == 0:
            return True
        before = spells[k - 1][1]
        return start - before <= tasks[k].lag_most and self._can_wait(
            tasks, spots, k, before, start
        )

    def _without_lamps(
        self, tasks: list[Task], spells: list[Spell], spots: list[int], k: int, until: int
    ) -> None:
        """Do it with fewer lamps where that still ends in time."""
        start, end, step = spells[k]
        cells = self.board.cells
        for other in sorted(tasks[k].steps, key=lambda one: one.lamps):
            if other.lamps >= step.lamps:
                return
            new_end = other.end[start]
            if other.start[start] != start or not end <= new_end <= until:
                continue
            busy = cells[self.full[spots[k]]]
            for cell in other.cells:
                busy |= cells[cell]
            if busy >> start & ((1 << (new_end - start)) - 1):
                continue
            if self._fits_between(tasks, spells, spots, k, start, new_end):
                spells[k] = (start, new_end, other)
                return
