"""Sends e-mail through Django's mail backend, which the settings choose."""

from __future__ import annotations

import smtplib

from scheduling.notify.contract import Message, NotifyError
from scheduling.notify.mime import mime_of

_PERMANENT_CODES = range(500, 600)


def send(message: Message) -> None:
    """Hand one message to the mail server.

    Raises
    ------
    NotifyError
        The server refused it (permanent for codes from 500) or cannot be reached.
    """
    try:
        mime_of(message).send()
    except smtplib.SMTPRecipientsRefused as error:
        codes = [code for code, _text in error.recipients.values()]
        permanent = bool(codes) and all(code in _PERMANENT_CODES for code in codes)
        raise NotifyError(f"recipient refused: {error.recipients}", permanent=permanent) from error
    except smtplib.SMTPResponseException as error:
        permanent = error.smtp_code in _PERMANENT_CODES
        raise NotifyError(f"{error.smtp_code} {error.smtp_error!r}", permanent=permanent) from error
    except (smtplib.SMTPConnectError, ConnectionRefusedError) as error:
        raise NotifyError(f"no mail server: {error}", permanent=False) from error
