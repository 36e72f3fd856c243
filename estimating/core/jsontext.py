"""JSON text with the loopholes shut: no duplicates, NaN, endless depth or numbers."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from estimating.core.errors import InputRefused, Problem

MOST_DEPTH = 32
MOST_CHARACTERS = 5_000_000
_MOST_DIGITS = 40


@dataclass(frozen=True, slots=True)
class _Flaw:
    """Stands in the parsed tree for a value that JSON let through, until it is found."""

    found: str
    remedy: str


def parsed(source: str | bytes) -> Any:
    """Parse JSON text.

    Raises
    ------
    InputRefused
        For text that is not UTF-8 JSON, nests too deeply, repeats a key, or holds
        NaN, Infinity or a number of absurd length; the path says where.
    """
    if isinstance(source, bytes):
        try:
            source = source.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise _refused(f"byte {error.start}", "write the file in UTF-8") from error
    if len(source) > MOST_CHARACTERS:
        raise _refused(f"{len(source)} characters", f"use at most {MOST_CHARACTERS}")
    depth = _depth(source)
    if depth > MOST_DEPTH:
        raise _refused(f"nested {depth} deep", f"nest at most {MOST_DEPTH} deep")
    try:
        tree = json.loads(
            source.removeprefix("\ufeff"),
            object_pairs_hook=_once,
            parse_constant=_constant,
            parse_int=_whole,
            parse_float=_real,
        )
    except json.JSONDecodeError as error:
        where = f"{error.msg} at line {error.lineno} column {error.colno}"
        raise _refused(where, "write valid JSON") from error
    problems = list(_flaws(tree, "$"))
    if problems:
        raise InputRefused(problems)
    return tree


def _refused(found: str, remedy: str) -> InputRefused:
    return InputRefused([Problem("$", found, remedy)])


def _depth(source: str) -> int:
    """Deepest nesting of brackets outside strings; needs no recursion."""
    depth = deepest = 0
    in_text = escaped = False
    for character in source:
        if in_text:
            if escaped:
                escaped = False
            elif character == "\\":
                escaped = True
            elif character == '"':
                in_text = False
        elif character == '"':
            in_text = True
        elif character in "[{":
            depth += 1
            deepest = max(deepest, depth)
        elif character in "]}":
            depth -= 1
    return deepest


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made: dict[str, Any] = {}
    for key, value in pairs:
        twice = _Flaw(f"key {key!r} twice", "give every key once")
        made[key] = twice if key in made else value
    return made


def _constant(word: str) -> _Flaw:
    return _Flaw(word, "use a finite number")


def _whole(digits: str) -> int | _Flaw:
    if len(digits) > _MOST_DIGITS:
        found = f"{digits[:12]}… ({len(digits)} digits)"
        return _Flaw(found, f"use a number of at most {_MOST_DIGITS} digits")
    return int(digits)


def _real(digits: str) -> float | _Flaw:
    value = float(digits)
    if value in (float("inf"), float("-inf")):
        return _Flaw(digits[:_MOST_DIGITS], "use a finite number")
    return value


def _flaws(value: Any, path: str) -> Iterator[Problem]:
    if isinstance(value, _Flaw):
        yield Problem(path, value.found, value.remedy)
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from _flaws(inner, f"{path}.{key}")
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _flaws(inner, f"{path}[{index}]")
