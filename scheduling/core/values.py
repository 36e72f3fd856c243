"""Values of a problem, refused with where they stand and what would be right."""

from __future__ import annotations

import math
from collections.abc import Iterable

Window = tuple[int, int]
"""A half-open stretch of time in minutes."""
MAX_HORIZON_MINUTES = 10 * 366 * 24 * 60
"""Ten years: more is a mistake in the file, and would only cost memory."""
MOST_MINUTES = 10 * MAX_HORIZON_MINUTES
"""Windows, releases and due times may lie beyond the horizon, but not in another age."""
MOST_WEIGHT = 1_000_000
"""Of a weight or a price of the objective: a solver's sums must stay whole and exact."""


class ProblemError(ValueError):
    """A value that cannot be part of a problem.

    Attributes
    ----------
    path : str
        Where the value stands, relative to the object that refused it (``modes[0].dur``).
    value : object
        What stood there.
    remedy : str
        What would be right.
    """

    def __init__(self, path: str, value: object, remedy: str) -> None:
        super().__init__(f"{path}: {value!r}; {remedy}")
        self.path = path
        self.value = value
        self.remedy = remedy


def whole(value: object, path: str, least: int | None = 0, most: int = MOST_MINUTES) -> int:
    """Return ``value`` if it is a whole number from ``least`` to ``most``, else refuse it."""
    if isinstance(value, bool) or not isinstance(value, int):
        raise ProblemError(path, value, "give a whole number")
    if least is not None and value < least:
        raise ProblemError(path, value, f"give a whole number of at least {least}")
    if abs(value) > most:
        raise ProblemError(path, value, f"give a whole number of at most {most}")
    return value


def amount(value: object, path: str) -> float:
    """Return ``value`` if it is a number from zero to ``MOST_WEIGHT``, else refuse it."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ProblemError(path, value, "give a number")
    if not math.isfinite(value) or value < 0:
        raise ProblemError(path, value, "give a finite number of at least 0")
    if value > MOST_WEIGHT:
        raise ProblemError(path, value, f"give a number of at most {MOST_WEIGHT}")
    return value


def name(value: object, path: str) -> str:
    """Return ``value`` if it is a text that is not empty, else refuse it."""
    if not isinstance(value, str) or not value:
        raise ProblemError(path, value, "give a text that is not empty")
    return value


def check_windows(windows: Iterable[Window], path: str) -> None:
    """Refuse windows that run backwards, overlap or are out of order."""
    before = 0
    for i, (start, end) in enumerate(windows):
        whole(start, f"{path}[{i}][0]")
        whole(end, f"{path}[{i}][1]")
        if end <= start:
            raise ProblemError(f"{path}[{i}]", [start, end], "the end must be after the start")
        if start < before:
            raise ProblemError(
                f"{path}[{i}]", [start, end], "windows must be in order and must not overlap"
            )
        before = end
