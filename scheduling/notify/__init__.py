"""Ways out of the house: one folder for each outside service, one small contract.

Adding one is a folder with ``send(message)`` and a line in :data:`CARRIERS`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from django.conf import settings

from scheduling.notify import console, email, gateway, mailbox
from scheduling.notify.contract import Carrier, Message, NotifyError, Unanswered

__all__ = ["CARRIERS", "Carrier", "Message", "NotifyError", "Unanswered", "carrier_for"]

CARRIERS: Final[Mapping[str, Carrier]] = {
    "console": console.send,
    "mailbox": mailbox.send,
    "email": email.send,
    "gateway": gateway.send,
}

# By the HALFMIL_MAIL setting. Without a gateway text messages are kept in the mailbox,
# where a person sees them, and reach nobody's phone.
_BY_SETTING: Final[Mapping[str, Mapping[str, str]]] = {
    "console": {"email": "console", "text": "console"},
    "file": {"email": "mailbox", "text": "mailbox"},
    "smtp": {"email": "email", "text": "mailbox"},
}


def carrier_for(channel: str) -> str:
    """Return the name of the carrier that the settings give to a channel."""
    if channel == "text" and settings.TEXT_GATEWAY_URL:
        return "gateway"
    return _BY_SETTING[settings.MAIL][channel]
