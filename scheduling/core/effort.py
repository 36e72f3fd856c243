"""How long to search for a plan, and how far a search has come."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

Clock = Callable[[], float]
"""Seconds that only go forward."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search has come; ``best`` and ``bound`` are in points."""

    best: float | None
    bound: float
    seconds: float
    phase: str

    @property
    def gap(self) -> float | None:
        """Share of the best that is not proven to be needed."""
        if self.best is None:
            return None
        return max(0.0, (self.best - self.bound) / self.best) if self.best > 0 else 0.0


@dataclass(frozen=True, slots=True)
class Effort:
    """How long to search and how.

    Parameters
    ----------
    seconds : float
        Time limit.
    seed : int
        Of all random choices.
    workers : int
        Threads; one beside a web process.
    rounds : int, optional
        Number of rounds of improvement. With it, one worker and a time limit that is not
        reached, the answer is the same every time.
    gap : float
        Stop when no more than this share is unproven.
    """

    seconds: float
    seed: int = 1
    workers: int = 1
    rounds: int | None = None
    gap: float = 0.0
