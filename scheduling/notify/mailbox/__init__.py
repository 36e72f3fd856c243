"""Keeps messages in a folder of files that any mail reader opens (Maildir).

Each message is written aside and then renamed into the mailbox, so that a reader
never sees half of one and two senders need no lock.
"""

from __future__ import annotations

import mailbox as maildir
from pathlib import Path

from django.conf import settings

from scheduling.notify.contract import Message, NotifyError
from scheduling.notify.mime import mime_of


def folder() -> Path:
    """Where the messages are kept."""
    return Path(settings.VAR_DIR) / "mailbox"


def send(message: Message) -> None:
    """Put one message into the mailbox.

    Raises
    ------
    NotifyError
        The folder cannot be written; worth another try.
    """
    try:
        folder().parent.mkdir(parents=True, exist_ok=True)
        maildir.Maildir(folder(), create=True).add(mime_of(message).message())
    except OSError as error:
        raise NotifyError(f"cannot write {folder()}: {error}", permanent=False) from error
