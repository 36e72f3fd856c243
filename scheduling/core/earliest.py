"""Earliest fit: when a job can come and when it is done, with nothing else moved.

The set of *all* feasible ends of every operation, in every spot, is carried forward along the
chain as bit masks (:mod:`scheduling.core.forward`). Nothing is chosen on the way, so a maximum
lag that the earliest end of the step before cannot keep is met by a later one: stepping back
costs nothing. Only at the end is one placement read out of the masks, backwards.

What is claimed
    The pick-up (``Fit.end``) is the earliest possible on the grid, exactly, and "impossible" is
    a proof within the horizon. The placement that leads to it is picked greedily from its end:
    a late one tells the day of the drop-off, then work is done as early as that day allows.
    That is good, not proven to be the shortest stay or the fewest moves.
"""

from __future__ import annotations

from bisect import bisect_right

from scheduling.core.explain import missing, why_not
from scheduling.core.fit import Chain, Fit, Reason, Why, impossible
from scheduling.core.forward import Forward
from scheduling.core.freeindex import FreeIndex
from scheduling.core.readout import Trace, pick_up_slot, read_out, trace

DAY_MINUTES = 24 * 60
FIRST_LOOK_MINUTES = 5 * DAY_MINUTES
LOOK_FURTHER = 2
NIGHT_MINUTES = 6 * 60
"""A closed stretch of at least this length parts two opening days, a shorter one is a break."""


def earliest_fit(
    chain: Chain,
    index: FreeIndex,
    *,
    not_before: int = 0,
    until: int | None = None,
    short: bool = False,
) -> Fit:
    """Return the placement with the earliest pick-up, nothing else moved.

    Parameters
    ----------
    chain : Chain
        The operations of one job.
    index : FreeIndex
        What is free; it is not changed.
    not_before : int
        Earliest drop-off in minutes from the origin.
    until : int, optional
        Latest pick-up of interest: a later one is not looked for, and counts as no time free.
    short : bool
        Work as late as the pick-up allows, for a short stay, instead of with time in hand.

    Returns
    -------
    Fit
        Found, or impossible with reasons.
    """
    lacking = missing(chain, index.resources)
    if lacking:
        return impossible(*lacking)
    begin = -(-max(0, not_before) // index.grid)
    if begin // index.block_slots >= index.blocks:
        return impossible(_too_late(chain, index, not_before))
    # One slot more: whether the shop opens at a moment is seen in the slot after it.
    stop = index.slots if until is None else min(index.slots, until // index.grid + 1)
    found = _first_pick_up(chain, index, not_before, begin, stop)
    if until is not None and (found is None or _pick_up(*found) > until):
        text = f"no time is free that ends by minute {until}"
        return impossible(Reason(Why.FULL, chain.ops[-1].id, text))
    if found is None:
        return impossible(*why_not(chain, index, not_before))
    return read_out(*found) if short else _with_time_in_hand(*found)


def _first_pick_up(
    chain: Chain, index: FreeIndex, not_before: int, begin: int, stop: int
) -> tuple[Forward, Trace] | None:
    """Return the way to the earliest pick-up within slots ``[begin, stop)``."""
    # A placement that ends within the days looked at lies in them altogether, so the first
    # look that finds one has the earliest.
    look = max(1, FIRST_LOOK_MINUTES // index.grid)
    first = begin // index.block_slots
    end = begin
    while end < stop:
        end = min(begin + look, stop)
        last = -(-end // index.block_slots)
        forward = Forward(chain, index, first, last, not_before, (begin, end))
        if forward.run() is None:
            pick_up = pick_up_slot(forward)
            if pick_up is not None:
                return forward, trace(forward, pick_up)
        look *= LOOK_FURTHER
    return None


def _pick_up(forward: Forward, found: Trace) -> int:
    return (forward.base + found.moment) * forward.index.grid


def _with_time_in_hand(forward: Forward, late: Trace) -> Fit:
    """Keep the day of the drop-off, but work as early as that day allows.

    The late placement tells on which day the vehicle must come at the latest; brought when that
    day opens, everything that can be done earlier leaves time for what goes wrong.
    """
    if not forward.chain.by_customer:
        return read_out(forward, late)
    openings = forward.index.resources.opening
    brought = (forward.base + late.since) * forward.index.grid
    opened = openings[bisect_right(openings, (brought, forward.index.resources.horizon)) - 1][0]
    not_before = max(opened, forward.not_before)
    early = forward.again(not_before)
    early.late = False
    early.run()
    pick_up = pick_up_slot(early)
    return read_out(forward, late) if pick_up is None else read_out(early, trace(early, pick_up))


def alternatives(chain: Chain, index: FreeIndex, after: Fit, *, n: int = 2) -> tuple[Fit, ...]:
    """Return up to ``n`` further offers, each brought on a later opening day than the one before.

    Parameters
    ----------
    chain, index
        As for :func:`earliest_fit`.
    after : Fit
        The first offer.
    n : int
        How many more are wanted; fewer come back when the calendar ends.
    """
    offers: list[Fit] = []
    while after.found and len(offers) < n:
        after = earliest_fit(chain, index, not_before=_next_opening(index, after.start))
        if after.found:
            offers.append(after)
    return tuple(offers)


def _next_opening(index: FreeIndex, minute: int) -> int:
    """Return the start of the first opening after the next night."""
    openings = index.resources.opening
    k = bisect_right(openings, (minute, index.resources.horizon))
    if not k:
        return openings[0][0] if openings else minute + DAY_MINUTES
    while k < len(openings) and openings[k][0] < openings[k - 1][1] + NIGHT_MINUTES:
        k += 1
    return openings[k][0] if k < len(openings) else index.resources.horizon


def _too_late(chain: Chain, index: FreeIndex, not_before: int) -> Reason:
    text = (
        f"asked for minute {not_before} at the earliest, the calendar ends at "
        f"minute {index.resources.horizon}"
    )
    return Reason(Why.HORIZON, chain.ops[0].id, text)
