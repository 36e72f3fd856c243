"""The one refusal of the core: where, what was found, what would be right."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

_LONGEST_VALUE = 80


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in an input: a JSON path, the value there and the remedy."""

    path: str
    value: Any
    remedy: str

    def __str__(self) -> str:
        return f"{self.path}: found {shown(self.value)}; {self.remedy}"


def shown(value: Any) -> str:
    """Write a value for a message, cut short where it is long."""
    try:
        written = repr(value)
    except (ValueError, RecursionError):
        return f"a value of type {type(value).__name__} too large to print"
    if len(written) > _LONGEST_VALUE:
        return written[: _LONGEST_VALUE - 1] + "…"
    return written


class InputRefused(ValueError):
    """An inspection that cannot be used.

    Parameters
    ----------
    problems
        All problems found, at least one.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))
