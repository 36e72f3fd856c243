"""The file itself: gzip over lines of JSON, counted and with a digest at its end."""

from __future__ import annotations

import gzip
import hashlib
import json
import zlib
from collections.abc import Iterator
from typing import IO, Any, Final

from django.utils.translation import gettext as _

from shop.refusals import Problem, Refused

FORMAT: Final = "halfmil-backup/1"
_FAMILY: Final = "halfmil-backup/"
LONGEST_LINE: Final = 64 * 1024 * 1024
"""Bytes; a longer line is no row of ours and would fill the memory."""


class Writer:
    """Writes lines and keeps their digest."""

    def __init__(self, file: IO[bytes]) -> None:
        # Neither name nor time in the gzip header: the same records, the same file.
        self._zip = gzip.GzipFile(filename="", fileobj=file, mode="wb", compresslevel=6, mtime=0)
        self._digest = hashlib.sha256()

    def line(self, value: Any) -> None:
        """Write one line."""
        data = _line(value)
        self._digest.update(data)
        self._zip.write(data)

    def close(self, rows: int) -> None:
        """Write the trailer and end the gzip stream; the file stays open."""
        self._zip.write(_line({"rows": rows, "sha256": self._digest.hexdigest()}))
        self._zip.close()


class Reader:
    """Reads a file once from the front; what is wrong with it is Refused."""

    def __init__(self, file: IO[bytes]) -> None:
        file.seek(0)
        self._zip = gzip.GzipFile(fileobj=file, mode="rb")
        self._digest = hashlib.sha256()
        self.header = self._header()

    def rows(self, count: int, width: int) -> Iterator[list[Any]]:
        """Give the next ``count`` rows, each of ``width`` values."""
        for _number in range(count):
            row = self._json(self._counted_line())
            if not isinstance(row, list) or len(row) != width:
                raise damaged(_("a row has not the values that the header announces"))
            yield row

    def end(self) -> str:
        """Check trailer and digest after the last row; return the digest."""
        computed = self._digest.hexdigest()
        trailer = self._json(self._line())
        if not isinstance(trailer, dict) or "sha256" not in trailer:
            raise damaged(_("more rows than the header announces"))
        if trailer["sha256"] != computed:
            raise damaged(
                _("its SHA-256 is %(computed)s and should be %(given)s")
                % {"computed": computed[:12], "given": str(trailer["sha256"])[:12]}
            )
        if self._read(1):
            raise damaged(_("something follows its end"))
        return computed

    def _header(self) -> dict[str, Any]:
        try:
            header = json.loads(self._counted_line())
        except ValueError:
            header = None
        given = header.get("format") if isinstance(header, dict) else None
        if not isinstance(given, str) or not given.startswith(_FAMILY):
            raise not_a_backup()
        if given != FORMAT:
            raise Refused(
                Problem(
                    _("%(given)s; this version reads %(known)s. Update the program first.")
                    % {"given": given, "known": FORMAT},
                    "format",
                )
            )
        return dict(header)

    def _counted_line(self) -> bytes:
        data = self._line()
        self._digest.update(data)
        return data

    def _line(self) -> bytes:
        data = self._read(-1)
        if not data.endswith(b"\n"):
            raise damaged(_("it ends too early"))
        return data

    def _read(self, most: int) -> bytes:
        try:
            return self._zip.read(most) if most > 0 else self._zip.readline(LONGEST_LINE)
        except gzip.BadGzipFile as error:
            if not self._digest_begun():
                raise not_a_backup() from error
            raise damaged(str(error)) from error
        except (EOFError, zlib.error) as error:
            raise damaged(_("it ends too early")) from error

    def _digest_begun(self) -> bool:
        return self._digest.digest() != hashlib.sha256().digest()

    def _json(self, data: bytes) -> Any:
        try:
            return json.loads(data)
        except ValueError as error:
            raise damaged(_("a line is no JSON")) from error


def damaged(how: str) -> Refused:
    """Say that a file cannot be trusted."""
    return Refused(
        _("The file is damaged: %s. Take another copy; nothing was written.") % how,
    )


def not_a_backup() -> Refused:
    """Say that a file is something else."""
    return Refused(_("This is no backup of Halfmil; give a file that manage.py backup made."))


def _line(value: Any) -> bytes:
    text = json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.encode("utf-8") + b"\n"
