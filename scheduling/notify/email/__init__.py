"""Sends e-mail through Django's mail backend, which the settings choose."""

from __future__ import annotations

import contextlib
import logging
import smtplib

from django.core.mail import get_connection
from django.utils.translation import gettext as _

from scheduling.notify.contract import Message, NotifyError, Unanswered
from scheduling.notify.mime import mime_of

logger = logging.getLogger(__name__)

_TEMPORARY_CODES = range(400, 500)
_PERMANENT_CODES = range(500, 600)


def send(message: Message) -> None:
    """Hand one message to the mail server.

    Raises
    ------
    NotifyError
        It was certainly not taken: the server refused the recipient, the sender or the
        text (permanent for codes from 500), or the line failed before the text was given
        (worth another try, as is a refused sign-in, which is the shop's to mend).
    Unanswered
        The line failed, or rubbish came, after the text was given.
    """
    line = get_connection()
    try:
        mail = mime_of(message)
        mail.connection = line
        mail.send()
    except (OSError, ValueError) as error:  # smtplib's errors are OSErrors
        if getattr(line, "taken", False):
            # Only the farewell failed.
            logger.info("The mail server took %s and broke off: %r", message.key, error)
            return
        # A backend that does not watch its line may have given the text away.
        raise _judged(error, text_given=getattr(line, "text_given", True)) from error
    finally:
        # A line on which signing in failed is still open.
        with contextlib.suppress(OSError):
            line.close()


def _judged(error: Exception, *, text_given: bool) -> Exception:
    """Say what an error means for the message."""
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        codes = [code for code, _text in error.recipients.values()]
        answers = ", ".join(_answer(*answer) for answer in error.recipients.values())
        permanent = bool(codes) and all(code in _PERMANENT_CODES for code in codes)
        text = _("The mail server refused the recipient: %s") % answers
        return NotifyError(text, permanent=permanent)
    if isinstance(error, smtplib.SMTPDataError | smtplib.SMTPSenderRefused):
        return _judged_answer(error, text_given=text_given)
    if isinstance(error, ValueError):
        # Found while the message was put together or before it was handed over.
        text = _("The message cannot be sent as e-mail: %s") % error
        return NotifyError(text, permanent=True)
    if text_given and not isinstance(error, ConnectionRefusedError):
        return Unanswered(
            _("The mail server had the text and did not answer (%s); it may have sent it.") % error
        )
    text = _("The mail server cannot be used: %s") % (error or type(error).__name__)
    return NotifyError(text, permanent=False)


def _judged_answer(error: smtplib.SMTPResponseException, *, text_given: bool) -> Exception:
    answer = _answer(error.smtp_code, error.smtp_error)
    refused = error.smtp_code in _TEMPORARY_CODES or error.smtp_code in _PERMANENT_CODES
    if text_given and not refused:
        return Unanswered(
            _("The mail server had the text and answered rubbish (%s); it may have sent it.")
            % answer
        )
    text = _("The mail server refused the message: %s") % answer
    return NotifyError(text, permanent=error.smtp_code in _PERMANENT_CODES)


def _answer(code: int, text: bytes | str) -> str:
    said = text.decode("utf-8", "replace") if isinstance(text, bytes) else text
    return f"{code} {said}"
