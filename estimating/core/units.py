"""Film units: micrometres inside, mil or micrometres at the edges."""

from __future__ import annotations

from estimating.core.checks import RuleBroken

UM_PER_MIL = 25.4  # exact: an inch is 25.4 mm, a mil one thousandth of an inch
UNITS = ("mil", "um")

# Converted readings are kept to a picometre, so that 4.3 mil and 109.22 um are
# the same number and the unit of a file can never change a plan.
_KEPT_DECIMALS = 6
_SYMBOLS = {"mil": "mil", "um": "µm"}


def to_um(value: float, unit: str) -> float:
    """Convert a film thickness to micrometres.

    Parameters
    ----------
    value
        Thickness in `unit`.
    unit
        `mil` or `um`.

    Raises
    ------
    RuleBroken
        If the unit is not one of the two.
    """
    return round(value * _um_per(unit), _KEPT_DECIMALS)


def from_um(value_um: float, unit: str) -> float:
    """Convert micrometres to `unit` without rounding."""
    return value_um / _um_per(unit)


def film_text(value_um: float, unit: str) -> str:
    """Write a thickness with its unit for a sentence, such as `4.3 mil`."""
    decimals = 2 if unit == "mil" else 0
    return f"{from_um(value_um, unit):.{decimals}f} {_SYMBOLS[unit]}"


def _um_per(unit: str) -> float:
    if unit == "mil":
        return UM_PER_MIL
    if unit == "um":
        return 1.0
    raise RuleBroken(f"unit must be one of {', '.join(UNITS)}, not {unit!r}")
