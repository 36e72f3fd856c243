"""Strict reading of JSON: every refusal names the path, the value and what would be right."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import dataclass
from reprlib import Repr
from typing import Any, TypeVar

from scheduling.core.values import ProblemError, Window

SHOWN_CHARACTERS = 60
MOST_BYTES = 20_000_000
MOST_DIGITS = 18
"""What fits into the whole numbers of a solver."""
Made = TypeVar("Made")


def _shown() -> Repr:
    """Return a way to write values that neither depth nor size makes slow."""
    found = Repr()
    found.maxlevel, found.maxstring, found.maxother = 3, SHOWN_CHARACTERS, SHOWN_CHARACTERS
    return found


_SHOWN = _shown()


def _cut(text: str) -> str:
    return text if len(text) <= SHOWN_CHARACTERS else text[: SHOWN_CHARACTERS - 1] + "…"


def _one_line(text: str) -> str:
    """Return a text that takes one line and can be written in any encoding of Unicode."""
    return "".join(
        c if c.isprintable() else c.encode("unicode_escape", "surrogatepass").decode() for c in text
    )


class WeekRefused(ValueError):
    """A file that cannot be read as what it should be.

    Attributes
    ----------
    path : str
        JSON path of the culprit, ``$`` being the whole file.
    value : object
        What stood there.
    remedy : str
        What would be right.
    """

    def __init__(self, path: str, value: object, remedy: str) -> None:
        super().__init__(f"{_one_line(path)}: {_cut(_SHOWN.repr(value))}: {_one_line(remedy)}")
        self.path = path
        self.value = value
        self.remedy = remedy


@dataclass(frozen=True, slots=True)
class _Wrong:
    """Stands in parsed data for what JSON text should not hold, until its path is known."""

    value: object
    remedy: str


def _finite(literal: str) -> float | _Wrong:
    value = float(literal)
    return value if math.isfinite(value) else _Wrong(literal, "give a finite number")


def _short(literal: str) -> int | _Wrong:
    if len(literal) > MOST_DIGITS:
        return _Wrong(literal, f"give a whole number of at most {MOST_DIGITS} digits")
    return int(literal)


def _constant(literal: str) -> _Wrong:
    return _Wrong(literal, "give a finite number; NaN and Infinity are not JSON")


def _object(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found: dict[str, object] = {}
    for key, value in pairs:
        twice = key in found
        found[key] = _Wrong(key, "a key may stand only once in an object") if twice else value
    return found


def parse(text: str | bytes) -> object:
    """Return the data of a JSON text that is strict: finite numbers, no key twice, UTF-8."""
    if len(text) > MOST_BYTES:
        raise WeekRefused("$", f"{len(text)} bytes", f"a file has at most {MOST_BYTES}")
    try:
        if isinstance(text, bytes):
            text = text.decode("utf-8-sig")
        data = json.loads(
            text,
            parse_constant=_constant,
            parse_float=_finite,
            parse_int=_short,
            object_pairs_hook=_object,
        )
    except UnicodeDecodeError as error:
        raise WeekRefused("$", text[:20], f"the file must be UTF-8 ({error.reason})") from error
    except RecursionError as error:
        raise WeekRefused("$", "nested too deeply", "a week has six levels at most") from error
    except ValueError as error:
        raise WeekRefused("$", text[:20], f"the file must be JSON ({error})") from error
    _refuse_wrong(data)
    return data


def _refuse_wrong(data: object) -> None:
    """Refuse the first thing that JSON text should not hold, with its path."""
    waiting: list[tuple[str, object]] = [("$", data)]
    while waiting:
        path, value = waiting.pop()
        if isinstance(value, _Wrong):
            raise WeekRefused(path, value.value, value.remedy)
        inside: list[tuple[str, object]] = []
        if isinstance(value, dict):
            inside = [(f"{path}.{key}", one) for key, one in value.items()]
        elif isinstance(value, list):
            inside = [(f"{path}[{i}]", one) for i, one in enumerate(value)]
        waiting += [(where, one) for where, one in reversed(inside) if _may_be_wrong(one)]


def _may_be_wrong(value: object) -> bool:
    return isinstance(value, (dict, list, _Wrong))


def made(path: str, make: Callable[[], Made]) -> Made:
    """Return what ``make`` makes; what it refuses is refused with the whole path."""
    try:
        return make()
    except ProblemError as error:
        joint = "" if error.path.startswith("[") else "."
        raise WeekRefused(f"{path}{joint}{error.path}", error.value, error.remedy) from error


def mapping(value: object, path: str) -> dict[str, Any]:
    """Return an object as it is, whatever its keys."""
    if not isinstance(value, dict):
        raise WeekRefused(path, value, "give an object")
    return value


def entries(
    value: object, path: str, *, needed: tuple[str, ...] = (), allowed: tuple[str, ...] = ()
) -> dict[str, Any]:
    """Return an object that has the needed keys and no unknown ones."""
    found = mapping(value, path)
    for key in found:
        if key not in needed and key not in allowed:
            known = ", ".join((*needed, *allowed))
            raise WeekRefused(f"{path}.{key}", found[key], f"unknown key; known here: {known}")
    for key in needed:
        if key not in found:
            raise WeekRefused(path, sorted(found), f"the key “{key}” is missing")
    return found


def items(value: object, path: str) -> list[Any]:
    """Return a list."""
    if not isinstance(value, list):
        raise WeekRefused(path, value, "give a list")
    return value


def each(value: object, path: str, read: Callable[[object, str], Made]) -> list[Made]:
    """Return what ``read`` makes of each item of a list."""
    return [read(one, f"{path}[{i}]") for i, one in enumerate(items(value, path))]


def text_of(value: object, path: str) -> str:
    """Return a text."""
    if not isinstance(value, str):
        raise WeekRefused(path, value, "give a text")
    return value


def flag(value: object, path: str) -> bool:
    """Return true or false."""
    if not isinstance(value, bool):
        raise WeekRefused(path, value, "give true or false")
    return value


def number(value: object, path: str) -> float | None:
    """Return a number, or None for null."""
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise WeekRefused(path, value, "give a number or null")
    return value


def window(value: object, path: str) -> Window:
    """Return a ``[start, end]`` pair of whole minutes."""
    pair = items(value, path)
    if len(pair) != 2:
        raise WeekRefused(path, value, "give a start and an end")
    for i, one in enumerate(pair):
        if isinstance(one, bool) or not isinstance(one, int):
            raise WeekRefused(f"{path}[{i}]", one, "give a whole number of minutes")
    return pair[0], pair[1]


def windows_of(value: object, path: str) -> tuple[Window, ...]:
    """Return a list of ``[start, end]`` pairs."""
    return tuple(each(value, path, window))


def texts(value: object, path: str) -> frozenset[str]:
    """Return a list of texts as a set."""
    return frozenset(each(value, path, text_of))


def whole_number(value: object, path: str) -> int:
    """Return a whole number."""
    if isinstance(value, bool) or not isinstance(value, int):
        raise WeekRefused(path, value, "give a whole number")
    return value
