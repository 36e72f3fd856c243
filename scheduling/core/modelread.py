"""Read a solved week's model back into fits."""

from __future__ import annotations

from itertools import pairwise

from ortools.sat.python import cp_model

from scheduling.core.cpmodel import Literal
from scheduling.core.fit import Fit, FitOp, FitStatus, Wait
from scheduling.core.freeindex import Resources, Technician
from scheduling.core.insertion import LAMPS
from scheduling.core.modelvars import JobVars, OpVars
from scheduling.core.readout import holds_of, pieces_of


def read_job(solver: cp_model.CpSolver, one: JobVars, resources: Resources) -> Fit:
    """Return one job of a solution as a fit."""
    ops: list[FitOp] = []
    standing: list[Wait] = []
    for number, stand in enumerate(one.stands):
        spot_id = _chosen(solver, stand.spots)
        for variables in stand.ops:
            placed = _read_op(solver, variables, spot_id, resources)
            where = ops[-1].spot if ops else spot_id
            if variables is stand.ops[0] and number:
                gap = one.gaps[number - 1]
                if gap.always is not None:
                    where = gap.always
                elif gap.stay is not None and not solver.boolean_value(gap.stay):
                    where = _chosen(solver, gap.parks)
            since = ops[-1].end if ops else placed.start
            standing.append(Wait(where, since, placed.start))
            ops.append(placed)
    path = [ops[0].spot]
    for wait, op in zip(standing[1:], ops[1:], strict=True):
        path += [wait.spot, op.spot]
    return Fit(
        status=FitStatus.FOUND,
        start=ops[0].start,
        end=ops[-1].end,
        ops=tuple(ops),
        waits=tuple(standing[1:]),
        moves=sum(a != b for a, b in pairwise(path)),
        holds=holds_of(resources, ops, standing, ops[-1].end),
    )


def _read_op(
    solver: cp_model.CpSolver, variables: OpVars, spot_id: str, resources: Resources
) -> FitOp:
    op = variables.op
    way = next(way for way, literal in variables.variants if solver.boolean_value(literal))
    start = solver.value(variables.task.start) * resources.grid
    end = solver.value(variables.task.end) * resources.grid
    crew = [name for name, literal in variables.crew.items() if solver.boolean_value(literal)]
    units = [resources.by_id[person] for person in crew]
    team = [unit for unit in units if isinstance(unit, Technician)]
    return FitOp(
        op_id=op.id,
        start=start,
        end=end,
        spot=spot_id,
        crew=tuple(crew),
        lamps=(LAMPS,) * op.modes[way.mode].lamps,
        mode=way.mode,
        pieces=pieces_of(op, team, start, end),
    )


def _chosen(solver: cp_model.CpSolver, literals: dict[str, Literal]) -> str:
    return next(name for name, literal in literals.items() if solver.boolean_value(literal))
