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
from scheduling.core.readout import pick_up_slot, read_out

FIRST_LOOK_BLOCKS = 2
DAY_MINUTES = 24 * 60
NIGHT_MINUTES = 6 * 60
"""A closed stretch of at least this length parts two opening days, a shorter one is a break."""


def earliest_fit(chain: Chain, index: FreeIndex, *, not_before: int = 0) -> Fit:
    """Return the placement with the earliest pick-up, nothing else moved.

    Parameters
    ----------
    chain : Chain
        The operations of one job.
    index : FreeIndex
        What is free; it is not changed.
    not_before : int
        Earliest drop-off in minutes from the origin.

    Returns
    -------
    Fit
        Found, or impossible with reasons.
    """
    lacking = missing(chain, index.resources)
    if lacking:
        return impossible(*lacking)
    first = max(0, not_before) // index.grid // index.block_slots
    if first >= index.blocks:
        return impossible(_too_late(chain, index, not_before))
    # A placement that ends within the weeks looked at lies in them altogether, so the first
    # look that finds one has the earliest.
    look = FIRST_LOOK_BLOCKS
    while True:
        last = min(first + look, index.blocks)
        forward = Forward(chain, index, first, last, not_before)
        if forward.run() is None:
            pick_up = pick_up_slot(forward)
            if pick_up is not None:
                return _with_time_in_hand(forward, read_out(forward, pick_up))
        if last == index.blocks:
            return impossible(*why_not(chain, index, not_before))
        look *= 2


def _with_time_in_hand(forward: Forward, fit: Fit) -> Fit:
    """Keep the day of the drop-off, but work as early as that day allows.

    The late placement tells on which day the vehicle must come at the latest; brought when that
    day opens, everything that can be done earlier leaves time for what goes wrong.
    """
    if not forward.chain.by_customer:
        return fit
    openings = forward.index.resources.opening
    opened = openings[bisect_right(openings, (fit.start, forward.index.resources.horizon)) - 1][0]
    not_before = max(opened, forward.not_before)
    early = forward.again(not_before)
    early.late = False
    early.run()
    pick_up = pick_up_slot(early)
    return fit if pick_up is None else read_out(early, pick_up)


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
