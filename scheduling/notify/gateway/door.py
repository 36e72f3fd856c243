"""The one HTTP door of this folder: a POST with a time-out and no surprises.

``http.client`` and not ``urllib.request``: a redirect must not carry the token elsewhere.
"""

from __future__ import annotations

import http.client
import ssl
import time
from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlsplit

from django.utils.translation import gettext as _

from scheduling.notify.contract import NotifyError, Unanswered

_MOST_BYTES = 64 * 1024
_CHUNK = 4096
_OK = range(200, 300)


@dataclass(frozen=True)
class Answer:
    """Status and the beginning of the body."""

    status: int
    body: bytes

    @property
    def ok(self) -> bool:
        """Whether the status says that it went well."""
        return self.status in _OK


def post(url: str, body: bytes, headers: Mapping[str, str], *, timeout_seconds: float) -> Answer:
    """Send one request and return the answer.

    Parameters
    ----------
    timeout_seconds
        For each step of the line, and for the whole body of the answer.

    Raises
    ------
    NotifyError
        No connection was made: nothing was sent.
    Unanswered
        The line failed, or what came was no HTTP, after the connection was made.
    """
    parts = urlsplit(url)
    line = _line(parts.scheme, parts.hostname or "", parts.port, timeout_seconds)
    path = f"{parts.path or '/'}{'?' if parts.query else ''}{parts.query}"
    try:
        try:
            line.connect()
        except OSError as error:
            text = _("The text gateway cannot be reached: %s") % (error or type(error).__name__)
            raise NotifyError(text, permanent=False) from error
        try:
            line.request("POST", path, body, dict(headers))
            response = line.getresponse()
            return Answer(response.status, _read(response, time.monotonic() + timeout_seconds))
        except (OSError, http.client.HTTPException) as error:
            raise Unanswered(
                _("The text gateway had the message and did not answer (%r).") % error
            ) from error
    finally:
        line.close()


def _line(
    scheme: str, host: str, port: int | None, timeout_seconds: float
) -> http.client.HTTPConnection:
    if scheme == "https":
        context = ssl.create_default_context()
        return http.client.HTTPSConnection(host, port, timeout=timeout_seconds, context=context)
    return http.client.HTTPConnection(host, port, timeout=timeout_seconds)


def _read(response: http.client.HTTPResponse, until: float) -> bytes:
    """Read the body, not for longer than until then and not more than a bounded amount."""
    parts: list[bytes] = []
    size = 0
    while size < _MOST_BYTES and time.monotonic() < until:
        part = response.read1(_CHUNK)
        if not part:
            break
        parts.append(part)
        size += len(part)
    return b"".join(parts)
