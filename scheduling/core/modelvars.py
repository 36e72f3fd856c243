"""Variables of operations, stands, gaps and jobs in a week's model."""

from __future__ import annotations

from dataclasses import dataclass

from scheduling.core.cpmodel import Literal, Task
from scheduling.core.forward import Way
from scheduling.core.problem import Job, Operation


@dataclass
class OpVars:
    """Variables of one operation."""

    op: Operation
    task: Task
    variants: list[tuple[Way, Literal]]
    crew: dict[str, Literal]


@dataclass
class Stand:
    """Operations that share a spot, and the spots that may be it."""

    ops: list[OpVars]
    spots: dict[str, Literal]


@dataclass
class Gap:
    """Between two stands: stay until the next starts, or go to one of the parking spots.

    ``always`` is a parking spot with room for all that costs nothing to go to at any time; then
    there is nothing to decide and nobody blocks.
    """

    stay: Literal | None
    parks: dict[str, Literal]
    same: list[Literal]
    always: str | None = None


@dataclass
class JobVars:
    """Variables of one job.

    ``moved`` is there if it has preferred placements, ``changed`` if it has these or its
    customer was told a time.
    """

    job: Job
    stands: list[Stand]
    gaps: list[Gap]
    moved: Literal | None = None
    changed: Literal | None = None

    @property
    def ops(self) -> list[OpVars]:
        """All operations in order."""
        return [one for stand in self.stands for one in stand.ops]
