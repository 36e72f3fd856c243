"""What an earliest fit is asked and what it answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from scheduling.core.problem import STAY, Frozen, Operation, Placement
from scheduling.core.values import ProblemError, Window


@dataclass(frozen=True, slots=True)
class Chain:
    """One job's operations in order, to be placed around everything that is already booked.

    Parameters
    ----------
    ops : tuple of Operation
        Durations that are off the grid are rounded up to it.
    by_customer : bool
        The customer brings and fetches the vehicle: both happen inside opening hours and the
        vehicle stands somewhere from the one to the other. Without it the vehicle appears when
        the first operation starts and is gone when the last one ends.
    kept : mapping of str to Frozen
        What must be kept of the placement of an operation.
    """

    ops: tuple[Operation, ...]
    by_customer: bool = True
    kept: Mapping[str, Frozen] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if not self.ops:
            raise ProblemError("ops", [], "give at least one operation")
        if len({op.id for op in self.ops}) < len(self.ops):
            raise ProblemError("ops", [op.id for op in self.ops], "identifiers must be unique")


class FitStatus(StrEnum):
    """Whether the chain could be placed."""

    FOUND = "found"
    IMPOSSIBLE = "impossible"


class Why(StrEnum):
    """Kinds of reasons why a chain cannot be placed."""

    NO_SPOT = "no_spot"
    NO_SKILL = "no_skill"
    NO_LAMP = "no_lamp"
    NO_WINDOW = "no_window"
    NO_OPENING = "no_opening"
    LAG = "lag"
    FROZEN = "frozen"
    HORIZON = "horizon"
    FULL = "full"


@dataclass(frozen=True, slots=True)
class Reason:
    """Why it is impossible: the operation that fails and a sentence for a person."""

    why: Why
    op_id: str
    text: str


@dataclass(frozen=True, slots=True)
class FitOp:
    """One placed operation; ``pieces`` are the stretches of work (empty when unattended)."""

    op_id: str
    start: int
    end: int
    spot: str
    crew: tuple[str, ...] = ()
    lamps: tuple[str, ...] = ()
    mode: int = 0
    pieces: tuple[Window, ...] = ()

    def placement(self) -> Placement:
        """Return it in the form that a plan holds."""
        return Placement(self.start, self.end, self.spot, self.crew, self.mode, self.pieces)


@dataclass(frozen=True, slots=True)
class Wait:
    """The vehicle stands at a spot for ``[start, end)`` (possibly for no time at all)."""

    spot: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Hold:
    """A resource taken for ``[start, end)`` minutes on behalf of an operation.

    A spot is held from the operation's start until the vehicle leaves it; a lamp for the whole
    operation; a technician for his own working stretches between its start and end, so that no
    hold of a person runs through a night or a break.
    """

    resource: str
    start: int
    end: int
    op_id: str


@dataclass(frozen=True, slots=True)
class Fit:
    """Answer of an earliest fit.

    Attributes
    ----------
    start, end : int
        Drop-off and pick-up in minutes (of a chain that is not ``by_customer``: start of the
        first and end of the last operation).
    waits : tuple of Wait
        One for each gap between two operations.
    before, after : Wait or None
        Standing between drop-off and the first operation, and until pick-up.
    moves : int
        Changes of spot.
    holds : tuple of Hold
        Everything to book, ordered by start.
    """

    status: FitStatus
    reasons: tuple[Reason, ...] = ()
    start: int = 0
    end: int = 0
    ops: tuple[FitOp, ...] = ()
    waits: tuple[Wait, ...] = ()
    before: Wait | None = None
    after: Wait | None = None
    moves: int = 0
    holds: tuple[Hold, ...] = ()

    @property
    def found(self) -> bool:
        """Whether there is a placement."""
        return self.status is FitStatus.FOUND

    def plan_waits(self) -> tuple[str, ...]:
        """Return the waits as a plan writes them: ``"stay"`` or the id of a parking spot."""
        return tuple(
            STAY if wait.spot == op.spot else wait.spot
            for op, wait in zip(self.ops, self.waits, strict=False)
        )


def impossible(*reasons: Reason) -> Fit:
    """Return the answer that there is no placement, with its reasons."""
    return Fit(FitStatus.IMPOSSIBLE, reasons)
