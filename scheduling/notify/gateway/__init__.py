"""Sends text messages through an HTTP gateway of the shop's choice.

What the gateway has to do (a few lines in front of any provider):

``POST HALFMIL_TEXT_GATEWAY_URL`` with ``Authorization: Bearer TOKEN``,
``Idempotency-Key: KEY`` and the JSON object ``{"to", "text", "sender", "key"}``. It answers
2xx with a JSON object whose ``"id"`` is its own number of the message once it has taken it,
and takes the same key once only.

===========================  ==============================================================
answer                       meaning
===========================  ==============================================================
2xx with an ``id``           taken
400, 409-418, 422, 451       refused for good (a wrong number, a text that is too long)
other 4xx, 3xx               not taken; tried again (401, 403: the token is the shop's to
                             mend; 429: too many)
5xx but 502 and 504          not taken; tried again with the same key
2xx without an ``id``,       not known: a machine in between may have passed it on, so a
502, 504, no answer          person decides
===========================  ==============================================================
"""

from __future__ import annotations

import json
from typing import Final

from django.conf import settings
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext as _

from scheduling.notify.contract import Message, NotifyError, Unanswered
from scheduling.notify.gateway.door import Answer, post

_PERMANENT: Final = frozenset({400, *range(409, 419), 422, 451})
_BETWEEN: Final = frozenset({502, 504})
_SHOWN: Final = 120
"""Characters of an answer that are shown to a person."""
_SALT: Final = "scheduling.notify.gateway"


def send(message: Message) -> None:
    """Hand one text message to the gateway.

    Raises
    ------
    NotifyError
        It was certainly not taken.
    Unanswered
        It may have been taken.
    """
    key = idempotency_key(message.key)
    body = {
        "to": message.recipient,
        "text": message.text.strip(),
        "sender": message.sender_name,
        "key": key,
    }
    headers = {
        "Authorization": f"Bearer {settings.TEXT_GATEWAY_TOKEN}",
        "Content-Type": "application/json",
        "Accept": "application/json",
        "Idempotency-Key": key,
    }
    answer = post(
        settings.TEXT_GATEWAY_URL,
        json.dumps(body).encode(),
        headers,
        timeout_seconds=settings.TEXT_GATEWAY_TIMEOUT,
    )
    if answer.ok and _has_id(answer.body):
        return
    raise _judged(answer)


def idempotency_key(key: str) -> str:
    """Return what tells this message from all others of the provider's account.

    Keys count from 1 in every installation: a second one on the same account, or a fresh
    database, would otherwise have its messages dropped as repeats.
    """
    return salted_hmac(_SALT, key, algorithm="sha256").hexdigest()[:40]


def _has_id(body: bytes) -> bool:
    try:
        said = json.loads(body)
    except ValueError:
        return False
    return isinstance(said, dict) and bool(said.get("id"))


def _judged(answer: Answer) -> Exception:
    said = f"{answer.status} {answer.body.decode('utf-8', 'replace').strip()[:_SHOWN]}".strip()
    if answer.ok or answer.status in _BETWEEN:
        return Unanswered(_("The text gateway did not say that it took it (%s).") % said)
    text = _("The text gateway refused the message: %s") % said
    return NotifyError(text, permanent=answer.status in _PERMANENT)
