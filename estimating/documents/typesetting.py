"""Documents as PDF, set by Typst.

The wheel of Typst brings its own fonts and needs no network; fonts of the machine stand
in only for letters that those lack. Texts go in as data beside a fixed source, so no name
can be read as markup.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any, Final

import typst

LETTER_COUNTRIES: Final = {"US", "CA", "MX", "PH"}  # the rest of the world writes on A4


def paper_of(country: str) -> str:
    """The usual sheet in a country, as Typst calls it."""
    return "us-letter" if country in LETTER_COUNTRIES else "a4"


def typeset(source: str, lines: dict[str, Any]) -> bytes:
    """Set the lines of a document with one of the sources beside this module."""
    data = json.dumps(lines, ensure_ascii=False)
    pdf: bytes = typst.compile(_source(source), sys_inputs={"data": data})
    return pdf


@cache
def _source(name: str) -> bytes:
    return Path(__file__).with_name(name).read_bytes()
