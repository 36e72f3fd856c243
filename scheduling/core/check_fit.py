"""Independent validator of an earliest fit against the resources and what is already booked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from scheduling.core.check import Rule, Use, Violation, check_gaps, check_operation, over_capacity
from scheduling.core.fit import Chain, Fit, FitOp, Hold, Wait
from scheduling.core.freeindex import Resources, Technician
from scheduling.core.problem import Operation, Spot
from scheduling.core.values import Window
from scheduling.core.worktime import common, join


def check_fit(
    chain: Chain,
    resources: Resources,
    busy: Mapping[str, Sequence[Window]],
    fit: Fit,
    *,
    not_before: int = 0,
) -> list[Violation]:
    """Return every rule that a found fit breaks; an empty list is a fit that can be booked.

    Parameters
    ----------
    busy : mapping of str to sequence of (int, int)
        What is already held by resource identifier.
    not_before : int
        Earliest drop-off that was asked for.
    """
    if [op.id for op in chain.ops] != [op.op_id for op in fit.ops]:
        return [Violation(Rule.SHAPE, "ops", "are not the operations of the chain")]
    found = []
    for op, placed in zip(chain.ops, fit.ops, strict=True):
        found += _check_op(op, placed, resources)
    spots = {spot.id: spot for spot in resources.spots}
    found += check_gaps(
        chain.ops, [op.placement() for op in fit.ops], fit.plan_waits(), spots, resources.opening
    )
    found += _check_stay(chain, resources, fit, not_before)
    found += _check_holds(resources, fit)
    return found + _check_room(resources, busy, fit.holds)


def _check_op(op: Operation, placed: FitOp, resources: Resources) -> list[Violation]:
    def wrong(rule: Rule, text: str) -> Violation:
        return Violation(rule, op.id, text)

    found = []
    spot = resources.by_id.get(placed.spot)
    if not isinstance(spot, Spot) or op.spot_cap not in spot.caps:
        found.append(wrong(Rule.SPOT, f"{placed.spot} cannot do {op.spot_cap!r}"))
    team = [resources.by_id.get(person) for person in placed.crew]
    people = [one for one in team if isinstance(one, Technician) and op.skill in one.skills]
    if len(people) != op.crew or len(set(placed.crew)) != op.crew:
        found.append(wrong(Rule.CREW, f"needs {op.crew} of {op.skill!r}, has {placed.crew}"))
    mode = op.modes[placed.mode]
    if len(placed.lamps) != mode.lamps:
        found.append(wrong(Rule.CAPACITY, f"needs {mode.lamps} lamps, has {placed.lamps}"))
    if placed.start % resources.grid or placed.end % resources.grid:
        found.append(wrong(Rule.GRID, "starts or ends off the grid"))
    minutes = -(-mode.dur // resources.grid) * resources.grid
    calendars = [one.windows for one in people]
    return found + check_operation(op, placed.placement(), calendars, resources.opening, minutes)


def _check_stay(chain: Chain, resources: Resources, fit: Fit, not_before: int) -> list[Violation]:
    found = []
    if fit.start < not_before or fit.end > resources.horizon:
        found.append(Violation(Rule.HORIZON, "fit", f"[{fit.start}, {fit.end}) is out of bounds"))
    if chain.by_customer:
        if not any(a <= fit.start < b for a, b in resources.opening):
            found.append(Violation(Rule.OPENING, "drop-off", f"minute {fit.start} is closed"))
        if not any(a <= fit.end <= b for a, b in resources.opening):
            found.append(Violation(Rule.OPENING, "pick-up", f"minute {fit.end} is closed"))
    path = stays_of(fit)
    if path[0].start != fit.start or path[-1].end != fit.end:
        found.append(Violation(Rule.SPOT, "fit", "the vehicle is not somewhere all the time"))
    for before, after in pairwise(path):
        if before.end != after.start:
            text = f"nowhere between minutes {before.end} and {after.start}"
            found.append(Violation(Rule.SPOT, before.spot, text))
    moves = sum(a.spot != b.spot for a, b in pairwise(path))
    if moves != fit.moves:
        found.append(Violation(Rule.OBJECTIVE, "moves", f"says {fit.moves}, but is {moves}"))
    return found


def stays_of(fit: Fit) -> list[Wait]:
    """Return every stretch of standing from drop-off to pick-up, operations among them."""
    path = [fit.before] if fit.before else []
    for k, op in enumerate(fit.ops):
        if k and fit.waits[k - 1].end > fit.waits[k - 1].start:
            path.append(fit.waits[k - 1])
        path.append(Wait(op.spot, op.start, op.end))
    if fit.after:
        path.append(fit.after)
    return path


def _check_holds(resources: Resources, fit: Fit) -> list[Violation]:
    """Compare the holds with what the placement needs, resource by resource."""
    needed: dict[str, list[Window]] = {}
    for stand in stays_of(fit):
        needed.setdefault(stand.spot, []).append((stand.start, stand.end))
    for op in fit.ops:
        for lamp in op.lamps:
            needed.setdefault(lamp, []).append((op.start, op.end))
        for person in op.crew:
            unit = resources.by_id[person]
            if isinstance(unit, Technician) and op.end > op.start:
                at_work = common(join(unit.windows), [(op.start, op.end)])
                needed.setdefault(person, []).extend(at_work)
    held: dict[str, list[Window]] = {}
    for hold in fit.holds:
        held.setdefault(hold.resource, []).append((hold.start, hold.end))
    found = []
    for resource in sorted(needed.keys() | held.keys()):
        want = join(one for one in needed.get(resource, []) if one[1] > one[0])
        have = join(held.get(resource, []))
        if want != have:
            text = f"holds {have}, needs {want}"
            found.append(Violation(Rule.CAPACITY, resource, text))
    return found


def _check_room(
    resources: Resources, busy: Mapping[str, Sequence[Window]], holds: Sequence[Hold]
) -> list[Violation]:
    uses = [Use(hold.resource, hold.start, hold.end, hold.op_id) for hold in holds]
    capacity = {}
    for resource, unit in resources.by_id.items():
        room = capacity[resource] = 1 if isinstance(unit, Technician) else unit.capacity
        # Only what meets the new holds counts: bookings may clash among themselves already.
        ours = join((hold.start, hold.end) for hold in holds if hold.resource == resource)
        for booked in busy.get(resource, ()):
            uses += [Use(resource, a, b, "a booking") for a, b in common(ours, [booked])]
        closures = unit.closures if isinstance(unit, Spot) else ()
        uses += [Use(resource, a, b, "its closure", room) for a, b in common(ours, closures)]
    return over_capacity(uses, capacity)
