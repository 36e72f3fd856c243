"""The secret part of a feed's address."""

from __future__ import annotations

import base64
import hashlib
import secrets
from uuid import UUID

from django.utils.crypto import salted_hmac


def token_new() -> str:
    """Return a token of 256 random bits, as it stands in an address."""
    return secrets.token_urlsafe(32)


def token_of_visit(namespace: UUID, generation: int) -> str:
    """Return the token of a customer's feed, which follows from the site's secret key.

    So each message about a visit can name the same address although none is kept.
    """
    value = f"{namespace}:{generation}"
    digest = salted_hmac("scheduling.feeds", value, algorithm="sha256").digest()
    return base64.urlsafe_b64encode(digest).decode("ascii").rstrip("=")


def token_hash(token: str) -> str:
    """Return what is kept of a token.

    Feeds are looked up by this hash: how long the search takes tells nothing about a
    token, because nobody can choose hashes that come near to the right one.
    """
    return hashlib.sha256(token.encode("utf-8")).hexdigest()
