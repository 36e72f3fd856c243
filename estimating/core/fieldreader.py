"""Reading single values out of a parsed file, collecting every problem found."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from estimating.core.errors import Problem


class Fields:
    """One JSON object being read; problems of all objects go into one list.

    Parameters
    ----------
    value
        What stands at `path`; anything but an object is a problem and reads empty.
    path
        JSON path for messages.
    keys
        All keys the object may have.
    problems
        The list that problems are added to.
    """

    def __init__(self, value: Any, path: str, keys: Sequence[str], problems: list[Problem]) -> None:
        self.path = path
        self.problems = problems
        self._values: Mapping[str, Any] = {}
        if not isinstance(value, Mapping):
            self.refuse(path, value, f"use an object with {', '.join(keys)}")
            return
        self._values = value
        for key in value:
            if key not in keys:
                self.refuse(f"{path}.{key}", value[key], f"use only {', '.join(keys)}")

    def refuse(self, path: str, value: Any, remedy: str) -> None:
        """Note a problem."""
        self.problems.append(Problem(path, value, remedy))

    def has(self, key: str) -> bool:
        """Whether a key is given."""
        return key in self._values

    def at(self, key: str) -> str:
        """JSON path of a key."""
        return f"{self.path}.{key}"

    def raw(self, key: str) -> Any:
        """The value as it stands; None where it is missing."""
        return self._values.get(key)

    def need(self, key: str, remedy: str) -> bool:
        """Note a problem where a key is missing; tell whether it is there."""
        if key not in self._values:
            self.refuse(self.at(key), None, f"missing: {remedy}")
            return False
        return True

    def word(self, key: str, allowed: Sequence[str], default: str | None = None) -> str | None:
        """One of the words allowed; `default` where missing, unless that is None."""
        if key not in self._values and default is not None:
            return default
        remedy = f"use one of {', '.join(allowed)}"
        if not self.need(key, remedy):
            return None
        value = self._values[key]
        if not isinstance(value, str) or value not in allowed:
            self.refuse(self.at(key), value, remedy)
            return None
        return value

    def number(
        self, key: str, least: float, most: float, remedy: str, above: bool = False
    ) -> float | None:
        """A number from `least` to `most` (above `least` where `above` is set)."""
        if not self.need(key, remedy):
            return None
        return checked_number(
            self._values[key], self.at(key), least, most, remedy, self.problems, above=above
        )

    def number_if(self, key: str, least: float, most: float, remedy: str) -> float | None:
        """A number from `least` to `most`; None where the key is left out."""
        return self.number(key, least, most, remedy) if key in self._values else None

    def whole(self, key: str, least: int, most: int, remedy: str) -> int | None:
        """A whole number from `least` to `most`."""
        if not self.need(key, remedy):
            return None
        value = self._values[key]
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            self.refuse(self.at(key), value, remedy)
            return None
        return value

    def items(self, key: str, most: int, remedy: str) -> list[Any]:
        """A list of at most `most` values; empty where it is missing or wrong."""
        if not self.need(key, remedy):
            return []
        value = self._values[key]
        if not isinstance(value, list):
            self.refuse(self.at(key), value, remedy)
            return []
        if len(value) > most:
            self.refuse(self.at(key), f"{len(value)} values", f"use at most {most}")
            return []
        return value


def checked_number(
    value: Any,
    path: str,
    least: float,
    most: float,
    remedy: str,
    problems: list[Problem],
    *,
    above: bool = False,
) -> float | None:
    """A finite number in a range, or None with a problem noted."""
    plain = isinstance(value, (int, float)) and not isinstance(value, bool)
    inside = plain and least <= value <= most and not (above and value == least)
    if not inside or not math.isfinite(value):
        problems.append(Problem(path, value, remedy))
        return None
    return float(value)
