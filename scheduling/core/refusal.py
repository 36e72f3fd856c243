"""Strict reading of JSON: every refusal names the path, the value and what would be right."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any, TypeVar

from scheduling.core.problem import ProblemError, Window

SHOWN_CHARACTERS = 60
Made = TypeVar("Made")


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
        shown = repr(value)
        if len(shown) > SHOWN_CHARACTERS:
            shown = shown[: SHOWN_CHARACTERS - 1] + "…"
        super().__init__(f"{path}: {shown}: {remedy}")
        self.path = path
        self.value = value
        self.remedy = remedy


def parse(text: str | bytes) -> object:
    """Return the data of a JSON text that is strict: no NaN, no key twice, UTF-8."""

    def no_constant(literal: str) -> None:
        raise WeekRefused("$", literal, "numbers must be finite; NaN and Infinity are not JSON")

    def no_twins(pairs: list[tuple[str, object]]) -> dict[str, object]:
        found: dict[str, object] = {}
        for key, value in pairs:
            if key in found:
                raise WeekRefused("$", key, "a key may stand only once in an object")
            found[key] = value
        return found

    try:
        if isinstance(text, bytes):
            text = text.decode("utf-8")
        return json.loads(text, parse_constant=no_constant, object_pairs_hook=no_twins)
    except WeekRefused:
        raise
    except UnicodeDecodeError as error:
        raise WeekRefused("$", text[:20], f"the file must be UTF-8 ({error.reason})") from error
    except RecursionError as error:
        raise WeekRefused("$", "nested too deeply", "a week has six levels at most") from error
    except ValueError as error:
        raise WeekRefused("$", text[:20], f"the file must be JSON ({error})") from error


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
