"""The one-time key with which whoever starts the program makes its first shop.

Without it anybody who reaches a fresh site first would own it. It lies in a file that only
the machine's own people read, and is of no use once there is a shop.
"""

from __future__ import annotations

import hmac
from pathlib import Path
from typing import Final

from django.conf import settings
from django.db import DatabaseError

from shop.environment import secret_key_from
from shop.models import Shop

FILE: Final = "first_run_key"
_LENGTH: Final = 24


def first_run_wanted() -> bool:
    """Whether there is no shop yet; a database without its tables is not asked for one."""
    try:
        return not Shop.objects.exists()
    except DatabaseError:
        return False


def first_run_key() -> str:
    """Return the key, making it the first time."""
    return secret_key_from(Path(settings.VAR_DIR) / FILE)[:_LENGTH]


def first_run_key_fits(key: str) -> bool:
    """Whether ``key`` is the one, compared in a time that tells nothing about it."""
    return hmac.compare_digest(key.encode(), first_run_key().encode())
