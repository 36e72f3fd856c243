"""In a week's model: whether a job is a change to what people already know."""

from __future__ import annotations

from collections.abc import Mapping

from ortools.sat.python import cp_model

from scheduling.core.changes import changed
from scheduling.core.cpmodel import Layer, Literal
from scheduling.core.fit import Fit
from scheduling.core.modelvars import JobVars, OpVars, Stand
from scheduling.core.problem import Frozen


def changed_literal(
    layer: Layer, one: JobVars, preferred: Mapping[str, Frozen], grid: int, fit: Fit | None
) -> Literal | None:
    """Return a literal that must be true if a job is a change, or None if it never can be.

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
    told = one.job.told
    known = [variables for variables in one.ops if variables.op.id in preferred]
    if told is None and not known:
        return None
    literal = layer.literal(
        f"{one.job.id} changed", None if fit is None else changed(one.job, fit, preferred)
    )
    if told is not None:
        layer.model.add(one.ops[-1].task.end <= told // grid).only_enforce_if(~literal)
    for stand in one.stands:
        for variables in stand.ops:
            if variables.op.id in preferred:
                _keep(layer, stand, variables, preferred[variables.op.id], grid, literal)
    return literal


def _keep(
    layer: Layer, stand: Stand, variables: OpVars, kept: Frozen, grid: int, literal: Literal
) -> None:
    """Hold an operation where it is preferred, unless the job is a change."""
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
