"""In a week's model: whether a job moves, and whether it is a change to what people know."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ortools.sat.python import cp_model

from scheduling.core.changes import changed, moved
from scheduling.core.cpmodel import Layer, Literal
from scheduling.core.fit import Fit
from scheduling.core.modelvars import JobVars, OpVars, Stand
from scheduling.core.problem import Frozen


def note_changes(
    layer: Layer, one: JobVars, preferred: Mapping[str, Frozen], grid: int, fit: Fit | None
) -> None:
    """Give a job's variables their ``moved`` and ``changed``, where somebody knows of it.

    Parameters
    ----------
    layer : Layer
        Where the model grows.
    one : JobVars
        The job's variables.
    preferred : mapping of str to Frozen
        Preferred placements by operation.
    grid : int
        Minutes of a slot.
    fit : Fit, optional
        Where the job stands now: the hint.
    """
    told, name = one.job.told, one.job.id
    if any(variables.op.id in preferred for variables in one.ops):
        one.moved = layer.literal(f"{name} moved", None if fit is None else moved(fit, preferred))
        for stand in one.stands:
            for variables in stand.ops:
                if variables.op.id in preferred:
                    _keep(layer, stand, variables, preferred[variables.op.id], grid, one.moved)
    if told is None:
        one.changed = one.moved
        return
    hint = None if fit is None else changed(one.job, fit, preferred)
    one.changed = layer.literal(f"{name} changed", hint)
    layer.model.add(one.ops[-1].task.end <= told // grid).only_enforce_if(~one.changed)
    if one.moved is not None:
        layer.model.add_implication(one.moved, one.changed)


def limit_moved(layer: Layer, jobs: Sequence[JobVars], most: int) -> None:
    """Let at most so many of the jobs leave their preferred placements."""
    layer.model.add(sum(one.moved for one in jobs if one.moved is not None) <= most)


def _keep(
    layer: Layer, stand: Stand, variables: OpVars, kept: Frozen, grid: int, literal: Literal
) -> None:
    """Hold an operation where it is preferred, unless the job moves."""
    task = variables.task
    for minute, moment in ((kept.start, task.start), (kept.end, task.end)):
        if minute is not None:
            layer.model.add(moment == minute // grid).only_enforce_if(~literal)
    wanted: list[cp_model.LiteralT | None] = []
    if kept.spot is not None:
        wanted.append(stand.spots.get(f"spot {kept.spot}"))
    if kept.crew is not None:
        names = {f"crew {one}" for one in kept.crew}
        wanted += [variables.crew.get(name) for name in sorted(names)]
        wanted += [~one for name, one in variables.crew.items() if name not in names]
    for choice in wanted:
        if choice is None:  # cannot be there at all
            layer.model.add(literal == 1)
        else:
            layer.model.add_implication(~literal, choice)
