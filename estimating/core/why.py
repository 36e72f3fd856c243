"""Why this plan and not the next cheaper or dearer one, in a sentence each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from estimating.core.inspection import Goal
from estimating.core.result import CurvePoint
from estimating.core.words import plain

_MOST_NAMED = 3


def why_not(curve: Sequence[CurvePoint], goal: Goal, currency: str) -> tuple[str, ...]:
    """Compare the chosen step of a curve with the ones before and after it.

    Parameters
    ----------
    curve
        The finish curve, cheapest first, one step chosen.
    goal
        What the plan is for; it gives the reason.
    currency
        Written before each amount.
    """
    chosen = next((index for index, point in enumerate(curve) if point.chosen), None)
    if chosen is None:
        return ()
    said = []
    if chosen > 0:
        said.append(_cheaper(curve[chosen - 1], curve[chosen], goal, currency))
    if chosen + 1 < len(curve):
        said.append(_dearer(curve[chosen + 1], curve[chosen], goal, currency))
    else:
        said.append("Nothing dearer: the film allows no more than this plan clears.")
    return tuple(said)


def _cheaper(other: CurvePoint, chosen: CurvePoint, goal: Goal, currency: str) -> str:
    reason = "clears less"
    if goal.cleared is not None and other.cleared < goal.cleared:
        reason = f"falls short of the {goal.cleared:.0%} asked for"
    elif goal.price_cap is not None:
        reason = "leaves money unused that clears more"
    return (
        f"Not the next cheaper, {currency} {other.price:,} for {other.cleared:.0%}: it {reason}"
        f" ({_difference(chosen, other)})."
    )


def _dearer(other: CurvePoint, chosen: CurvePoint, goal: Goal, currency: str) -> str:
    more = other.cleared - chosen.cleared
    reason = f"it adds {more:.1%} that was not asked for"
    if goal.price_cap is not None and other.price > goal.price_cap:
        reason = f"it is over the cap of {goal.price_cap:,}"
    return (
        f"Not the next dearer, {currency} {other.price:,} for {other.cleared:.0%}: {reason}"
        f" ({_difference(chosen, other)})."
    )


def _difference(chosen: CurvePoint, other: CurvePoint) -> str:
    """Which panels another plan treats at another level."""
    now, then = dict(chosen.levels), dict(other.levels)
    changed = [panel for panel in now if now[panel] != then[panel]]
    if not changed:
        return "the same levels, other spot work"
    moves = Counter((now[panel], then[panel]) for panel in changed)
    if len(changed) > _MOST_NAMED:
        told = [f"{n} from {one} to {other_level}" for (one, other_level), n in moves.items()]
        return f"{len(changed)} panels change: {', '.join(told)}"
    return ", ".join(f"{plain(panel)} {now[panel]} → {then[panel]}" for panel in changed)
