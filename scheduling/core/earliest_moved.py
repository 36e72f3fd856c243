"""Earliest fit if one booking were moved: whose, where to, and what that gains.

A booking is only taken into account where leaving it out altogether brings the asked job early
enough; that is also the bound of what moving it can bring. Then both are placed anew: the asked
job where it is earliest and the other around it, which meets the bound. Where the other finds no
place, both are placed as if the other were not there, and one after another thing that both take
is denied to the one or to the other, the earliest pick-up of the asked job being followed first.

What is claimed
    Nothing but the one booking moves, and its own limits are kept. ``Swap.asked.end`` equal to
    ``IfMoved.bound`` is a proof that no single move of those looked at brings more. Otherwise an
    earlier pick-up is possible in rare cases: only so many pairs of places are tried, not all.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from heapq import heappop, heappush
from itertools import count

from scheduling.core.earliest import earliest_fit
from scheduling.core.fit import Chain, Fit, Hold
from scheduling.core.freeindex import FreeIndex
from scheduling.core.values import ProblemError, name, whole

MOST_LOOKED_AT = 20
"""Bookings that are taken into account; beyond them the work would have no bound."""
MOST_TRIES = 60
"""Pairs of places in each other's way that are looked at, for all bookings together."""


@dataclass(frozen=True, slots=True)
class Movable:
    """A booking that might be moved, with its customer's consent.

    Parameters
    ----------
    id : str
        Of the booking.
    chain : Chain
        All of its work.
    holds : tuple of (str, int, int)
        What it holds: resource and minutes ``[start, end)``.
    start : int
        Its drop-off as booked.
    told : int
        The pick-up its customer was told.
    release : int
        The vehicle cannot come earlier.
    most : int
        Minutes by which the drop-off may be earlier, and the pick-up later.
    """

    id: str
    chain: Chain
    holds: tuple[tuple[str, int, int], ...]
    start: int
    told: int
    release: int
    most: int

    def __post_init__(self) -> None:
        name(self.id, "id")
        whole(self.most, "most", least=1)
        if self.release > self.start:
            raise ProblemError("release", self.release, f"give at most its start, {self.start}")

    @property
    def latest(self) -> int:
        """The latest pick-up."""
        return self.told + self.most

    @property
    def earliest(self) -> int:
        """The earliest drop-off."""
        return max(self.release, self.start - self.most)


@dataclass(frozen=True, slots=True)
class Swap:
    """The move of one booking, and the asked job's place after it."""

    id: str
    asked: Fit
    moved: Fit


@dataclass(frozen=True, slots=True)
class IfMoved:
    """What moving a single booking brings.

    Attributes
    ----------
    swap : Swap or None
        The best move found.
    bound : int or None
        No single move of those looked at brings an earlier pick-up; None where none brings one
        that is early enough.
    """

    swap: Swap | None
    bound: int | None

    @property
    def proven(self) -> bool:
        """Whether no single move of those looked at is better."""
        return self.bound is None if self.swap is None else self.swap.asked.end == self.bound


def earliest_if_moved(
    chain: Chain,
    index: FreeIndex,
    movable: Sequence[Movable],
    *,
    not_before: int,
    by: int,
) -> IfMoved:
    """Return the single move that gives the asked job the earliest pick-up.

    Parameters
    ----------
    chain : Chain
        The asked job.
    index : FreeIndex
        What is free with every booking in its place; it is not changed.
    movable : sequence of Movable
        Bookings that might be moved. Those that hold something from ``not_before`` to ``by``
        count, at most ``MOST_LOOKED_AT``, nearest to ``not_before`` first.
    not_before : int
        Earliest drop-off of the asked job.
    by : int
        Latest pick-up of the asked job that is worth a move.
    """
    near = [one for one in movable if any(a < by and b > not_before for _, a, b in one.holds)]
    near.sort(key=lambda one: (abs(one.start - not_before), one.start, one.id))
    del near[MOST_LOOKED_AT:]
    alone: list[tuple[int, int, Fit]] = []
    for number, one in enumerate(near):
        fit = earliest_fit(chain, _without(index, one), not_before=not_before, until=by)
        if fit.found:
            alone.append((fit.end, number, fit))
    best: Swap | None = None
    ranked: tuple[int, bool, int] | None = None
    tries = MOST_TRIES
    for bound, number, fit in sorted(alone, key=lambda row: row[:2]):
        # What follows is no earlier, and where it is as early, no kinder to the other customer.
        if ranked is not None and (bound, True) > ranked[:2]:
            break
        one = near[number]
        until = by if ranked is None else min(by, ranked[0])
        pair = _Pair(chain, _without(index, one), one, not_before, until)
        swap, tries = pair.best(fit, tries)
        if swap is not None and (ranked is None or pair.rank(swap) < ranked):
            best, ranked = swap, pair.rank(swap)
    return IfMoved(best, min((row[0] for row in alone), default=None))


def _without(index: FreeIndex, one: Movable) -> FreeIndex:
    other = index.copy()
    for resource, start, end in one.holds:
        other.remove(resource, start, end)
    return other


def taken(index: FreeIndex, holds: Iterable[Hold]) -> FreeIndex:
    """Return an index in which some more is held."""
    other = index.copy()
    for hold in holds:
        other.add(hold.resource, hold.start, hold.end)
    return other


@dataclass(frozen=True, slots=True)
class _Both:
    """A place for each, perhaps in each other's way, and what each may not take."""

    asked: Fit
    moved: Fit
    not_asked: tuple[Hold, ...] = ()
    not_moved: tuple[Hold, ...] = ()


@dataclass
class _Pair:
    """The asked job and one booking, both to be placed; ``free`` is without either."""

    chain: Chain
    free: FreeIndex
    one: Movable
    not_before: int
    by: int

    def best(self, alone: Fit, tries: int) -> tuple[Swap | None, int]:
        """Return the best places for both and how many tries are left."""
        for asked in (alone, self._asked(self.free, short=True)):
            swap = self._kindest(asked)
            if swap is not None:
                return swap, tries
        return self._out_of_the_way(alone, tries)

    def _out_of_the_way(self, alone: Fit, tries: int) -> tuple[Swap | None, int]:
        """Let one or the other keep off what both take, the earliest asked job first."""
        moved = self._place(self.free, self.one.earliest)
        if moved is None:
            return None, tries
        number = count()
        waiting = [(alone.end, next(number), _Both(alone, moved))]
        while waiting and tries > 0:
            _, _, both = heappop(waiting)
            tries -= 1
            both_take = self._clash(both)
            if both_take is None:
                return self._polished(both), tries
            for following in self._following(both, both_take):
                heappush(waiting, (following.asked.end, next(number), following))
        return None, tries

    def _following(self, both: _Both, both_take: Hold) -> Iterator[_Both]:
        not_asked = (*both.not_asked, both_take)
        asked = self._asked(taken(self.free, not_asked))
        if asked.found:
            yield replace(both, asked=asked, not_asked=not_asked)
        not_moved = (*both.not_moved, both_take)
        moved = self._place(taken(self.free, not_moved), self.one.earliest)
        if moved is not None:
            yield replace(both, moved=moved, not_moved=not_moved)

    def _clash(self, both: _Both) -> Hold | None:
        """Return the first stretch of something for which there is no room for both."""
        index = taken(self.free, both.asked.holds)
        for moves in both.moved.holds:
            if not index.is_free(moves.resource, moves.start, moves.end):
                for asks in both.asked.holds:
                    low, high = max(asks.start, moves.start), min(asks.end, moves.end)
                    if asks.resource == moves.resource and low < high:
                        return replace(moves, start=low, end=high)
            index.add(moves.resource, moves.start, moves.end)
        return None

    def _polished(self, both: _Both) -> Swap:
        """Place each once more around the other: what kept them apart may be needless now."""
        asked = self._asked(taken(self.free, both.moved.holds))
        if not asked.found or asked.end > both.asked.end:
            asked = both.asked
        return self._kindest(asked) or Swap(self.one.id, both.asked, both.moved)

    def _asked(self, index: FreeIndex, *, short: bool = False) -> Fit:
        return earliest_fit(
            self.chain, index, not_before=self.not_before, until=self.by, short=short
        )

    def _kindest(self, asked: Fit) -> Swap | None:
        """Return the other's place that changes least for its customer, if it has any."""
        index = taken(self.free, asked.holds)
        places = []
        for not_before in (self.one.start, self.one.earliest):
            for short in (False, True):
                fit = self._place(index, not_before, short=short)
                if fit is not None:
                    places.append(Swap(self.one.id, asked, fit))
        return min(places, key=self.rank, default=None)

    def _place(self, index: FreeIndex, not_before: int, *, short: bool = False) -> Fit | None:
        one = self.one
        fit = earliest_fit(one.chain, index, not_before=not_before, until=one.latest, short=short)
        return fit if fit.found else None

    def rank(self, swap: Swap) -> tuple[int, bool, int]:
        """Earliest first, then what was told to the other customer, then the smallest move."""
        one, moved = self.one, swap.moved
        shift = abs(moved.start - one.start) + max(0, moved.end - one.told)
        return swap.asked.end, moved.end > one.told, shift
