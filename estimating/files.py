"""Reading a file, or standard input, that somebody named on a command line."""

from __future__ import annotations

import sys
from pathlib import Path

from django.utils.translation import gettext as _

from estimating.core.jsontext import MOST_CHARACTERS
from shop.refusals import Problem, Refused


def file_bytes(name: str) -> bytes:
    """The content of a file, or of standard input for ``-``; never more than is ever read.

    Raises
    ------
    Refused
        It cannot be opened or read.
    """
    most = 4 * MOST_CHARACTERS + 1  # a character of UTF-8 has up to four bytes
    try:
        if name == "-":
            stream = sys.stdin
            binary = getattr(stream, "buffer", None)
            return binary.read(most) if binary else stream.read(most).encode()
        with Path(name).open("rb") as file:
            return file.read(most)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        message = _("%(name)r: %(why)s; name a JSON file that can be read, or - for input")
        raise Refused(Problem(message % {"name": name, "why": why}, field="FILE")) from error
