"""Frozen placements that cannot all be kept, said by name before any search."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from scheduling.core.check import Use, over_capacity
from scheduling.core.problem import Frozen, Job, Operation, Week

_FREE = Frozen()


def frozen_clashes(week: Week) -> list[str]:
    """Return why the frozen placements cannot all be kept; empty where nothing speaks against it.

    What one of them asks of its own operation, of the operation before, and what several ask of
    one bay, person or lamp at the same time. Working hours are left to the search.
    """
    found: list[str] = []
    for job in week.jobs:
        for op in job.ops:
            kept = week.frozen.get(op.id)
            if kept is not None:
                found += (f"frozen placement of {op.id}: {why}" for why in _alone(week, op, kept))
                found += (f"frozen placement of {op.id}: {why}" for why in _times(week, job, op))
        found += _chain(week, job)
    clashes = over_capacity(_uses(week), _capacity(week))
    return found + [f"frozen placements clash at {one.subject}: {one.text}" for one in clashes]


def _alone(week: Week, op: Operation, kept: Frozen) -> Iterable[str]:
    """Yield which bay or person it cannot have."""
    if kept.spot is not None:
        spot = next(spot for spot in week.spots if spot.id == kept.spot)
        if op.spot_cap not in spot.caps:
            yield f"{kept.spot} cannot do “{op.spot_cap}”"
    if kept.crew is None:
        return
    if len(kept.crew) != op.crew:
        yield f"{len(kept.crew)} people are frozen, it needs {op.crew}"
    people = {one.id: one for one in week.crew}
    for person in kept.crew:
        if op.skill is not None and op.skill not in people[person].skills:
            yield f"{person} lacks the skill “{op.skill}”"


def _times(week: Week, job: Job, op: Operation) -> Iterable[str]:
    """Yield which of its times lies outside the week or leaves too little between."""
    kept = week.frozen[op.id]
    shortest = min(mode.dur for mode in op.modes)
    start = kept.start
    if start is None and kept.end is not None:
        start = kept.end - shortest  # at the latest
    end = kept.end
    if end is None and start is not None:
        end = start + shortest  # at the earliest
    if start is None or end is None:
        return
    if start < job.release:
        yield f"starts at {start} at the latest, before the release at {job.release}"
    if end > week.horizon:
        yield f"ends at {end} at the earliest, after the horizon {week.horizon}"
    if end - start < shortest:
        yield f"{end - start} minutes from {start} to {end}, it needs {shortest}"


def _chain(week: Week, job: Job) -> Iterable[str]:
    """Yield which lag between two neighbours cannot be kept, or which bay they cannot share."""
    for before, op in pairwise(job.ops):
        left, here = week.frozen.get(before.id, _FREE), week.frozen.get(op.id, _FREE)
        if op.same_spot and None not in (left.spot, here.spot) and left.spot != here.spot:
            yield (
                f"frozen placements of {before.id} and {op.id}: {left.spot} and {here.spot}, "
                "but the vehicle may not leave its spot between"
            )
        if left.end is None or here.start is None:
            continue
        lag = here.start - left.end
        if lag < op.lag_min or (op.lag_max is not None and lag > op.lag_max):
            most = "" if op.lag_max is None else f" and at most {op.lag_max}"
            yield (
                f"frozen placements of {before.id} and {op.id}: {lag} minutes between them, "
                f"it must be at least {op.lag_min}{most}"
            )


def _uses(week: Week) -> Iterable[Use]:
    for op_id, op in week.operations.items():
        kept = week.frozen.get(op_id, _FREE)
        if kept.start is None or kept.end is None:
            continue
        if kept.spot is not None:
            yield Use(f"spot {kept.spot}", kept.start, kept.end, op_id)
        for one in kept.crew or ():
            yield Use(f"crew {one}", kept.start, kept.end, op_id)
        yield Use("lamps", kept.start, kept.end, op_id, min(mode.lamps for mode in op.modes))
    for spot in week.spots:
        for start, end in spot.closures:
            yield Use(f"spot {spot.id}", start, end, "its closure", spot.capacity)


def _capacity(week: Week) -> dict[str, int]:
    spots = {f"spot {spot.id}": spot.capacity for spot in week.spots}
    return spots | {f"crew {one.id}": 1 for one in week.crew} | {"lamps": week.lamps}
