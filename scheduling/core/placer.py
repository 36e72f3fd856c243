"""Place one job quickly among others: group by group as early as can be, then not earlier.

The exact search of :mod:`scheduling.core.earliest` carries every possibility along; here the
earliest end of each group of operations is taken, and stepped back from where it leads nowhere.
That is many times faster and mostly ends at the same minute.
"""

from __future__ import annotations

from bisect import bisect_left

from scheduling.core.board import Placed, Taking
from scheduling.core.lateshift import LateShift, Spell
from scheduling.core.timetable import Group, Route, Step, Task

MOST_LOOKS = 60
"""Groups looked at for one job before it is said to find no room."""
MOST_TRIES = 40


class _Run:
    """One search for a place: how far it has come, and which ends led nowhere."""

    __slots__ = ("begin", "dead", "limit", "looks", "spells", "spots")

    def __init__(self, groups: int, limit: int) -> None:
        self.limit = limit
        self.looks = 0
        self.spells: list[list[Spell]] = []
        self.spots: list[int] = []
        self.dead: list[dict[int, int]] = [{} for _ in range(groups)]


class Placer(LateShift):
    """Finds places for jobs on a board."""

    def place(self, route: Route, latest: int | None = None) -> Placed | None:
        """Return a place that ends at ``latest`` at the latest, or None; nothing is taken."""
        groups = route.groups
        limit = self.timetable.slots if latest is None else min(latest, self.timetable.slots)
        run = _Run(len(groups), limit)
        number = 0
        while number < len(groups):
            run.looks += 1
            if run.looks > MOST_LOOKS:
                return None
            wanted = self._forward(route, run, number)
            if wanted is None:
                number += 1
            elif number == 0 or wanted >= self.never:
                return None
            else:
                number -= 1
                spot = run.spots.pop()
                end = run.spells.pop()[-1][1]
                run.dead[number][spot] = max(end + 1, wanted)
                run.dead[number + 1].clear()
        return self._finish(route, run)

    # Forward -------------------------------------------------------------------------------

    def _forward(self, route: Route, run: _Run, number: int) -> int | None:
        """Place a group after the one before; return None, or from which end to try again.

        The answer is never if no later end helps.
        """
        group = route.groups[number]
        limit = run.limit - route.rest[number + 1]
        if number:
            return self._after(group, run, number, limit)
        best, score, where = None, self.never, 0
        for spot in group.spots:
            least = run.dead[0].get(spot, 0)
            found = self._in_spot(group, spot, (route.release, self.never), least, limit)
            if found is not None and found[-1][1] < score:
                best, score, where = found, found[-1][1], spot
        if best is None:
            return self.never
        run.spells.append(best)
        run.spots.append(where)
        return None

    def _after(self, group: Group, run: _Run, number: int, limit: int) -> int | None:
        left, end = run.spots[-1], run.spells[-1][-1][1]
        first = group.tasks[0]
        reach = self._reach(left, end)
        opened = self.open >> end & 1
        latest = min(reach, end + first.lag_most)
        best, score, where, retry = None, 2 * self.never, 0, self.never
        for spot in group.spots:
            least = run.dead[number].get(spot, 0)
            closed = self.is_park[spot] and spot != left and not opened
            window = (end + first.lag_least, self.never)
            found = self._in_spot(group, spot, window, least, limit, enter_open=closed)
            if found is None:
                continue
            start = found[0][0]
            if start > latest or not self._may_enter(left, end, spot, start):
                retry = min(retry, max(end + 1, start - first.lag_most))
                continue
            rank = 2 * found[-1][1] + (spot != left)
            if rank < score:
                best, score, where = found, rank, spot
        if best is None:
            return retry
        run.spells.append(best)
        run.spots.append(where)
        return None

    def _in_spot(
        self,
        group: Group,
        spot: int,
        window: tuple[int, int],
        least_end: int,
        limit: int,
        *,
        enter_open: bool = False,
    ) -> list[Spell] | None:
        """Return the operations of a group one after the other in a spot, early, or None."""
        tasks = group.tasks
        busy = self.board.cells[self.full[spot]]
        start_from, latest = window
        least = [0] * len(tasks)
        least[-1] = least_end
        for _ in range(MOST_TRIES):
            if enter_open:
                start_from = self.next_open[start_from]
                if start_from >= self.never:
                    return None
            first = self._earliest(tasks[0], busy, start_from, least[0], limit)
            if first is None or first[0] > latest:
                return None
            if enter_open and not self.open >> first[0] & 1:
                start_from = first[0] + 1
                continue
            if len(tasks) == 1:
                return [first]
            spells = [first]
            again = self._follow(tasks, busy, spells, least, limit)
            if again is None:
                return spells
            if again >= self.never:
                return None
            start_from = max(start_from, again)
        return None

    def _follow(
        self, tasks: tuple[Task, ...], busy: int, spells: list[Spell], least: list[int], limit: int
    ) -> int | None:
        """Add the other operations of a group; return None, or from when to try again."""
        for number in range(1, len(tasks)):
            task, end = tasks[number], spells[-1][1]
            spell = self._earliest(task, busy, end + task.lag_least, least[number], limit)
            if spell is None:
                return self.never
            start = spell[0]
            between = busy >> end & ((1 << (start - end)) - 1)
            if between:
                return end + between.bit_length()
            if start > end + task.lag_most:
                least[number - 1] = start - task.lag_most
                return 0
            spells.append(spell)
        return None

    def _earliest(
        self, task: Task, busy_spot: int, start_from: int, least_end: int, limit: int
    ) -> Spell | None:
        """Return the way that ends first, not before ``least_end`` nor after ``limit``."""
        if start_from > self.timetable.slots:
            return None
        cells = self.board.cells
        best: Spell | None = None
        best_end = limit + 1
        for step in task.steps:
            starts, ends = step.start, step.end
            at = start_from
            end = ends[at]
            if end < least_end:
                at = bisect_left(ends, least_end, at)
                if at == len(ends):
                    continue
                end = ends[at]
            if end >= best_end:
                continue
            busy = busy_spot
            for cell in step.cells:
                busy |= cells[cell]
            while True:
                start = starts[at]
                clash = busy >> start & ((1 << (end - start)) - 1)
                if not clash:
                    best, best_end = (start, end, step), end
                    break
                at = start + clash.bit_length()
                end = ends[at]
                if end >= best_end:
                    break
        return best

    # Result --------------------------------------------------------------------------------

    def _finish(self, route: Route, run: _Run) -> Placed:
        """Move operations as late as the end allows, then say where the vehicle waits."""
        spells = [spell for group in run.spells for spell in group]
        tasks = [task for group in route.groups for task in group.tasks]
        spots = [
            spot
            for spot, group in zip(run.spots, run.spells, strict=True)
            for _ in range(len(group))
        ]
        end = len(spells) - len(route.groups[-1].tasks)
        for k in range(len(spells) - 2, end - 1, -1):
            self._later(tasks, spells, spots, k)
        for group in reversed(route.groups[:-1]):
            begin = end - len(group.tasks)
            if self.together and len(group.tasks) > 1:
                self._later_together(tasks, spells, spots, (begin, end - 1))
            for k in range(end - 1, begin - 1, -1):
                self._later(tasks, spells, spots, k)
            end = begin
        return self._placed(route, tasks, spells, spots)

    def _placed(
        self, route: Route, tasks: list[Task], spells: list[Spell], spots: list[int]
    ) -> Placed:
        taken: list[Taking] = []
        waits: list[int] = []
        moves, last = 0, len(spells) - 1
        since = spells[0][0]
        for k, (start, end, step) in enumerate(spells):
            here = spots[k]
            _take_work(taken, step, start, end)
            if k == last:
                _take(taken, self.base[here], since, end)
                break
            after, following = spells[k + 1][0], spots[k + 1]
            where = self._wait(here, end, following, after, tasks[k + 1].op.same_spot)
            waits.append(where)
            if where != here:
                moves += 1
                _take(taken, self.base[here], since, end)
                since = end
            if where != following:
                moves += 1
                _take(taken, self.base[where], since, after)
                since = after
        return Placed(
            self.timetable.points(route.job, spells[-1][1], moves),
            spells[0][0],
            spells[-1][1],
            moves,
            tuple(taken),
            tuple((*spell, spot) for spell, spot in zip(spells, spots, strict=True)),
            tuple(waits),
        )


def _take(taken: list[Taking], cell: int, start: int, end: int) -> None:
    if end > start:
        taken.append((cell, ((1 << (end - start)) - 1) << start))


def _take_work(taken: list[Taking], step: Step, start: int, end: int) -> None:
    """Take people and lamps while an operation lasts."""
    if end > start:
        mask = ((1 << (end - start)) - 1) << start
        for cell in step.takes:
            taken.append((cell, mask))
