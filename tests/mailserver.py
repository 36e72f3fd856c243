"""A real SMTP server of this process (aiosmtpd) that can be told to misbehave."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import socket
from collections import Counter
from collections.abc import Callable, Iterator
from email import message_from_bytes
from email.message import Message
from threading import Event, Thread
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session

TAKEN = "250 taken"


class Sink:
    """Takes mail, counts Message-IDs, and answers as it is told.

    ``rcpt`` and ``data`` are the answers to a recipient and to the text. ``after_text`` is
    called with the message when it has arrived and before it is answered: raise
    ``ConnectionError`` there to break the line.
    """

    def __init__(self) -> None:
        self.rcpt = "250 fine"
        self.data = TAKEN
        self.stall_seconds = 0.0
        self.after_text: Callable[[Message], None] = lambda _mail: None
        self.answered: Callable[[Message], None] = lambda _mail: None
        self.mails: list[Message] = []
        self.ids: Counter[str] = Counter()

    async def handle_RCPT(  # noqa: N802 -- aiosmtpd's name
        self, _server: SMTP, _session: Session, envelope: Envelope, address: str, _options: Any
    ) -> str:
        if self.rcpt.startswith("250"):
            envelope.rcpt_tos.append(address)
        return self.rcpt

    async def handle_DATA(  # noqa: N802 -- aiosmtpd's name
        self, server: SMTP, _session: Session, envelope: Envelope
    ) -> str:
        content = envelope.content
        mail = message_from_bytes(content if isinstance(content, bytes) else b"")
        try:
            self.after_text(mail)
        except ConnectionError:
            self._take(mail)
            assert server.transport is not None
            server.transport.close()
            return TAKEN
        if not self.data.startswith(("4", "5")):
            self._take(mail)
        if self.stall_seconds:
            await asyncio.sleep(self.stall_seconds)
        self.answered(mail)
        return self.data

    def _take(self, mail: Message) -> None:
        self.mails.append(mail)
        self.ids[str(mail["Message-ID"])] += 1


def free_port() -> int:
    """Return a port of this machine where nobody listens."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        port: int = server.getsockname()[1]
    return port


@contextlib.contextmanager
def listening(sink: Sink, port: int = 0) -> Iterator[int]:
    """Let a sink listen; give its port."""
    # A line for each command would drown what is being measured or tested.
    logging.getLogger("mail.log").setLevel(logging.ERROR)
    controller = Controller(sink, hostname="127.0.0.1", port=port or free_port())
    controller.start()
    try:
        yield controller.port
    finally:
        controller.stop()


@contextlib.contextmanager
def raw(says: bytes, *, then_close: bool = False) -> Iterator[int]:
    """Let something that is no mail server listen: it says these bytes to whoever calls."""
    over = Event()
    server = socket.create_server(("127.0.0.1", 0))
    server.settimeout(0.05)
    lines: list[socket.socket] = []

    def serve() -> None:
        while not over.is_set():
            with contextlib.suppress(TimeoutError, OSError):
                line, _address = server.accept()
                lines.append(line)
                line.sendall(says)
                if then_close:
                    line.close()

    thread = Thread(target=serve)
    thread.start()
    try:
        yield server.getsockname()[1]
    finally:
        over.set()
        thread.join()
        for line in (*lines, server):
            line.close()
