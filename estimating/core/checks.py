"""Small value rules shared by the input dataclasses of the core."""

from __future__ import annotations

import math
from decimal import Decimal

Number = float | int | Decimal


class RuleBroken(ValueError):
    """A value that a dataclass of the core refuses; the message names field and rule."""


def is_number(value: object) -> bool:
    """Tell whether `value` is a finite int, float or Decimal and not a boolean."""
    if isinstance(value, bool):
        return False
    if isinstance(value, Decimal):
        return value.is_finite()
    return isinstance(value, (int, float)) and math.isfinite(value)


def positive(name: str, value: Number) -> None:
    """Refuse a value that is not a finite number above zero."""
    if not is_number(value) or value <= 0:
        raise RuleBroken(f"{name} must be a number above 0, not {value!r}")


def not_negative(name: str, value: Number) -> None:
    """Refuse a value that is not a finite number of at least zero."""
    if not is_number(value) or value < 0:
        raise RuleBroken(f"{name} must be a number of at least 0, not {value!r}")


def finite(name: str, value: Number) -> None:
    """Refuse a value that is not a finite number."""
    if not is_number(value):
        raise RuleBroken(f"{name} must be a finite number, not {value!r}")


def share(name: str, value: Number) -> None:
    """Refuse a value outside 0 to 1."""
    if not is_number(value) or not 0 <= value <= 1:
        raise RuleBroken(f"{name} must be a share from 0 to 1, not {value!r}")


def share_below_one(name: str, value: Number) -> None:
    """Refuse a value outside 0 up to, but not including, 1."""
    if not is_number(value) or not 0 <= value < 1:
        raise RuleBroken(f"{name} must be a share from 0 to below 1, not {value!r}")


def text(name: str, value: str) -> None:
    """Refuse an empty name or code."""
    if not isinstance(value, str) or not value.strip():
        raise RuleBroken(f"{name} must be a text that is not empty, not {value!r}")


def one_of(name: str, value: str, allowed: tuple[str, ...]) -> None:
    """Refuse a word that is not in the list of words allowed."""
    if value not in allowed:
        raise RuleBroken(f"{name} must be one of {', '.join(allowed)}, not {value!r}")


def count(name: str, value: int, least: int = 0) -> None:
    """Refuse a value that is not a whole number of at least `least`."""
    if isinstance(value, bool) or not isinstance(value, int) or value < least:
        raise RuleBroken(f"{name} must be a whole number of at least {least}, not {value!r}")
