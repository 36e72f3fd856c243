"""Vehicle identification numbers: form and check digit (49 CFR 565.15).

The check digit is required in North America; a number from a market that has
only ISO 3779 may fail it. So a failed check is shown, and can be overruled with
a reason.
"""

from __future__ import annotations

from dataclasses import dataclass

from vininfo import Vin
from vininfo.exceptions import ValidationError as NotAVin


@dataclass(frozen=True)
class VinCheck:
    """Outcome for one number. ``well_formed`` is about length and letters alone."""

    vin: str
    well_formed: bool
    check_digit_holds: bool
    expected_digit: str = ""


_LETTERS = dict(zip("ABCDEFGHJKLMNPRSTUVWXYZ", "12345678123457923456789", strict=True))
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)


def vin_check(text: str) -> VinCheck:
    """Judge ``text`` as a VIN; spaces and case do not matter."""
    vin = "".join(text.split()).upper()
    try:
        holds = Vin(vin).verify_checksum()
    except NotAVin:
        return VinCheck(vin, well_formed=False, check_digit_holds=False)
    return VinCheck(vin, True, holds, check_digit(vin))


def check_digit(vin: str) -> str:
    """Return the digit (or X) that position 9 of a well-formed VIN should hold."""
    values = (int(_LETTERS.get(letter, letter)) for letter in vin)
    total = sum(value * weight for value, weight in zip(values, _WEIGHTS, strict=True))
    return "X" if total % 11 == 10 else str(total % 11)
