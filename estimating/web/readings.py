"""Readings as they are typed, pasted or sent by a gauge that acts as a keyboard.

``4.3 4.2 4.3 / 4.4 4.4 4.5`` is two spots of three readings. A slash, a
semicolon or a new line starts the next spot; blanks part readings.
"""

from __future__ import annotations

import math
import re

from django.utils.translation import gettext as _

_SPOT = re.compile(r"[/;|\n\r]+")
_BLANK = re.compile(r"[\s,]+")
# A comma that stands between two digits and is the only decimal sign in sight.
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")
LONGEST_TEXT = 600


class ReadingsRefused(ValueError):
    """A text that is not a list of readings; the message says what would be."""


def spots_of(text: str, unit: str) -> list[list[float]]:
    """Read spots of readings in ``unit`` out of ``text``.

    A comma between digits is a decimal sign only for mil and only where no point
    is used: ``109,110`` on a gauge that shows whole micrometres is two readings.

    Raises
    ------
    ReadingsRefused
        Something in it is no number; it is named, with what would be right.
    """
    if len(text) > LONGEST_TEXT:
        raise ReadingsRefused(
            _("This is too long for one panel (%(count)d characters, at most %(most)d).")
            % {"count": len(text), "most": LONGEST_TEXT}
        )
    if unit == "mil" and "." not in text:
        text = _DECIMAL_COMMA.sub(".", text)
    spots = []
    for piece in _SPOT.split(text):
        words = [word for word in _BLANK.split(piece) if word]
        if words:
            spots.append([_number(word, unit) for word in words])
    return spots


def _number(word: str, unit: str) -> float:
    bare = re.sub(r"(?i)(mils?|µm|μm|um)$", "", word)
    try:
        value = float(bare)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        example = "4.3 4.2 4.3 / 4.4 4.4 4.5" if unit == "mil" else "109 107 109 / 112 112 114"
        raise ReadingsRefused(
            _("“%(word)s” is no reading. Write numbers, such as %(example)s.")
            % {"word": word[:40], "example": example}
        )
    return value


def text_of(spots: list[list[float]]) -> str:
    """Write spots as they are typed."""
    return " / ".join(" ".join(f"{reading:g}" for reading in spot) for spot in spots)
