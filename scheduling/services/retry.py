"""When a message that was not taken is tried again."""

from __future__ import annotations

import hashlib
from datetime import timedelta
from typing import Final

FIRST_WAIT: Final = timedelta(minutes=2)
WAIT_FACTOR: Final = 4
"""Waits before a next try: 2, 8, 32 and 128 minutes, each up to a quarter longer."""
JITTER: Final = 0.25
_STEPS: Final = 1 << 32


def wait_before_next(key: str, attempts: int) -> timedelta:
    """Return how long to wait after so many tries of the message with this key.

    What failed together is not tried again together: each wait is longer by a share of
    its own, up to a quarter, which key and try decide and no chance.
    """
    digest = hashlib.sha256(f"{key}#{attempts}".encode()).digest()
    share = int.from_bytes(digest[:4], "big") / _STEPS
    return FIRST_WAIT * WAIT_FACTOR ** (attempts - 1) * (1 + JITTER * share)
