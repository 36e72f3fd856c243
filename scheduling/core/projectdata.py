"""Activities of a project and the lags between them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Activity:
    """An activity with its duration and the units of each resource it needs meanwhile."""

    duration: int
    needs: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class StartLag:
    """``after`` starts at least ``least`` after ``before`` starts; negative is a maximum lag."""

    before: int
    after: int
    least: int
