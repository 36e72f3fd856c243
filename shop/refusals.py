"""How a service says no: where, what was given, what would be right."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing that stands in the way. ``field`` is empty where it is no single field."""

    message: str
    field: str = ""

    def __str__(self) -> str:
        return f"{self.field}: {self.message}" if self.field else self.message


class Refused(Exception):
    """A request that the facts or the rules forbid. Nothing has been written.

    Views show the problems at their fields, the API answers 4xx with them, a
    command prints them and exits with status 2.
    """

    status = 400

    def __init__(self, *problems: Problem | str) -> None:
        self.problems = tuple(p if isinstance(p, Problem) else Problem(p) for p in problems)
        super().__init__("; ".join(str(p) for p in self.problems))

    def by_field(self) -> dict[str, list[str]]:
        """Messages by field name; the empty name holds those of no single field."""
        found: dict[str, list[str]] = {}
        for problem in self.problems:
            found.setdefault(problem.field, []).append(problem.message)
        return found


class Conflict(Refused):
    """Somebody else was first: a resource is taken, a row has moved on."""

    status = 409


class Forbidden(Refused):
    """The person's role does not allow it."""

    status = 403
