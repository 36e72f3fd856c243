"""Say why a chain cannot be placed: which operation lacks what."""

from __future__ import annotations

from dataclasses import replace

from scheduling.core.fit import Chain, Reason, Why
from scheduling.core.forward import Forward
from scheduling.core.freeindex import FreeIndex, Resources
from scheduling.core.problem import Frozen, Operation
from scheduling.core.worktime import join


def missing(chain: Chain, resources: Resources) -> tuple[Reason, ...]:
    """Return what no calendar can mend: capabilities, skills and lamps the shop has not got."""
    reasons = []
    for op in chain.ops:
        if not any(op.spot_cap in spot.caps for spot in resources.spots):
            text = f"{_label(op)}: no bay can do “{op.spot_cap}”"
            reasons.append(Reason(Why.NO_SPOT, op.id, text))
        able = sum(op.skill in one.skills for one in resources.crew)
        if op.crew > able:
            text = f"{_label(op)}: needs {op.crew} with the skill “{op.skill}”, there are {able}"
            reasons.append(Reason(Why.NO_SKILL, op.id, text))
        lamps = sum(lamp.capacity for lamp in resources.lamps)
        if all(mode.lamps > lamps for mode in op.modes):
            text = f"{_label(op)}: needs more lamps than the {lamps} of the shop"
            reasons.append(Reason(Why.NO_LAMP, op.id, text))
    return tuple(reasons)


def why_not(chain: Chain, index: FreeIndex, not_before: int) -> tuple[Reason, ...]:
    """Return why a chain that lacks nothing still does not fit.

    The chain is tried in an empty shop first: what fails there can never be done; what fails
    only among the bookings is a matter of a full calendar.
    """
    empty = FreeIndex(index.resources)
    first = min(empty.blocks - 1, max(0, not_before // empty.grid // empty.block_slots))
    alone = Forward(chain, empty, first, empty.blocks, not_before)
    failed = alone.run()
    if failed is not None:
        return (_never(alone, failed),)
    full = Forward(chain, index, first, index.blocks, not_before)
    failed = full.run()
    op = chain.ops[-1 if failed is None else failed]
    text = (
        f"{_label(op)}: no time is left free before the end of the calendar "
        f"(minute {index.resources.horizon})"
    )
    return (Reason(Why.FULL, op.id, text),)


def _never(alone: Forward, failed: int) -> Reason:
    op = alone.chain.ops[failed]
    if _only_frozen(alone, failed):
        return Reason(Why.FROZEN, op.id, _frozen_text(op, alone.chain.kept[op.id]))
    whole = Forward(alone.chain, alone.index, 0, alone.index.blocks, 0)
    if not any(way.starts for way in whole.ways(op)):
        return _no_window(op, whole)
    if failed and op.lag_max is not None:
        loose = alone.reach(failed, None)
        if any(
            mask & way.starts & alone.free_for(spot_id, way.slots)
            for spot_id, mask in loose.items()
            if op.spot_cap in alone.spots[spot_id].caps
            for way in alone.ways(op)
        ):
            before = alone.chain.ops[failed - 1]
            text = (
                f"{_label(op)}: cannot start within {op.lag_max} minutes after "
                f"{_label(before)} in any opening of the calendars"
            )
            return Reason(Why.LAG, op.id, text)
    text = f"{_label(op)}: cannot be done before the calendar ends, not even in an empty shop"
    return Reason(Why.HORIZON, op.id, text)


def _only_frozen(alone: Forward, failed: int) -> bool:
    """Whether the operation could be done if only its own placement were not frozen."""
    chain = alone.chain
    op_id = chain.ops[failed].id
    if op_id not in chain.kept:
        return False
    loose = replace(chain, kept={one: kept for one, kept in chain.kept.items() if one != op_id})
    again = Forward(loose, alone.index, alone.first, alone.last, alone.not_before).run()
    return again is None or again > failed


def _frozen_text(op: Operation, kept: Frozen) -> str:
    times = (("start", kept.start), ("end", kept.end))
    parts = [f"{name} {minute}" for name, minute in times if minute is not None]
    parts += [one for one in (kept.spot, *(kept.crew or ())) if one is not None]
    said = ", ".join(parts)
    return (
        f"{_label(op)}: its frozen placement ({said}) fits no opening of the calendars, bays and "
        "steps before it"
    )


def _no_window(op: Operation, whole: Forward) -> Reason:
    minutes = min(mode.dur for mode in op.modes)
    longest = max((end - start for start, end in join(whole.index.resources.opening)), default=0)
    if op.open_hours and minutes > longest:
        text = f"{_label(op)}: takes {minutes} minutes, the longest opening has {longest}"
        return Reason(Why.NO_OPENING, op.id, text)
    pause = "in all" if op.pausable else "and may not pause"
    text = (
        f"{_label(op)}: takes {minutes} minutes {pause}; no working window of "
        f"{op.crew} with the skill “{op.skill}” is long enough"
    )
    return Reason(Why.NO_WINDOW, op.id, text)


def _label(op: Operation) -> str:
    return f"{op.name} ({op.id})" if op.name else op.id
