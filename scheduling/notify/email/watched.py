"""Django's SMTP backend, which also remembers how far a hand-over came.

Before the server has said 354 (RFC 5321, 4.1.1.4: "Start mail input") nothing of the
message has left this machine, and whatever fails, it was certainly not taken. From there
until the server's answer to the text nobody can say; with 250 it was taken, whatever
happens to the line afterwards.
"""

from __future__ import annotations

import smtplib
from typing import Any

from django.core.mail.backends.smtp import EmailBackend

_START_INPUT = 354
_TAKEN = 250


class _Line(smtplib.SMTP):
    """Notes the two replies that decide."""

    text_given = False
    taken = False

    def getreply(self) -> tuple[int, bytes]:
        code, text = super().getreply()
        # No other command is answered by it.
        self.text_given = self.text_given or code == _START_INPUT
        return code, text

    def data(self, msg: Any) -> tuple[int, bytes]:
        code, text = super().data(msg)
        self.taken = code == _TAKEN
        return code, text


class _TlsLine(_Line, smtplib.SMTP_SSL):
    """The same under TLS from the first byte."""


class Backend(EmailBackend):
    """One message a connection; read ``text_given`` and ``taken`` after it was used."""

    text_given = False
    taken = False

    @property
    def connection_class(self) -> type[_Line]:
        return _TlsLine if self.use_ssl else _Line

    def close(self) -> None:
        line = self.connection
        if isinstance(line, _Line):
            self.text_given, self.taken = line.text_given, line.taken
        super().close()
