"""Reading a file, or standard input, that somebody named on a command line."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path
from tempfile import NamedTemporaryFile

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


def files_named(names: Sequence[str]) -> list[str]:
    """The files meant: a directory stands for the ``.json`` files in it, in order of name.

    Raises
    ------
    Refused
        A directory cannot be read or holds no such file.
    """
    found: list[str] = []
    for name in names:
        try:
            folder = name != "-" and Path(name).is_dir()
            inside = sorted(Path(name).glob("*.json")) if folder else []
        except (OSError, ValueError):
            folder, inside = False, []  # reading it says why
        if folder and not inside:
            message = _("%(name)r: a directory without .json files; name one that has some")
            raise Refused(Problem(message % {"name": name}, field="FILE"))
        found += map(str, inside) if folder else [name]
    return found


def file_write(name: str, text: str, *, field: str) -> None:
    """Write a text file that somebody named, all of it or nothing.

    Parameters
    ----------
    field
        The option that named it, for the refusal.

    Raises
    ------
    Refused
        It cannot be written.
    """
    half: Path | None = None
    try:
        target = Path(name)
        if target.exists() and not target.is_file():  # a device or a pipe is written to as it is
            target.write_text(text, encoding="utf-8")
            return
        with NamedTemporaryFile(
            "w", encoding="utf-8", dir=target.parent, prefix=".half", delete=False
        ) as file:
            half = Path(file.name)
            file.write(text)
        half.chmod(target.stat().st_mode & 0o777 if target.exists() else 0o666 & ~_umask())
        half.replace(target)
    except (OSError, ValueError) as error:
        if half is not None:
            half.unlink(missing_ok=True)
        why = getattr(error, "strerror", None) or str(error)
        message = _("%(name)r: %(why)s; name a file that can be written")
        raise Refused(Problem(message % {"name": name, "why": why}, field=field)) from error


def _umask() -> int:
    """The process's mask for new files, which can only be read by setting it."""
    mask = os.umask(0o077)
    os.umask(mask)
    return mask
