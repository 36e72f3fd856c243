"""Slows down guessing of passwords.

Counts wrong passwords for one name from one address; past the limit even the
right password is refused until the time is over.  It sits in the backend, so
the sign-in page, the admin and the API are covered alike.
"""

import hashlib
from typing import Any

from django.conf import settings
from django.contrib.auth.backends import ModelBackend
from django.core.cache import cache
from django.http import HttpRequest


def _counter_key(request: HttpRequest | None, username: str) -> str:
    address = request.META.get("REMOTE_ADDR", "") if request else ""
    digest = hashlib.sha256(f"{address}\n{username.lower()}".encode()).hexdigest()
    return f"sign-in-tries:{digest}"


def must_wait(request: HttpRequest | None, username: str) -> bool:
    """Return whether this name has used up its tries from this address."""
    return int(cache.get(_counter_key(request, username), 0)) >= settings.SIGN_IN_TRIES


class ThrottledBackend(ModelBackend):
    """Django's own check of name and password, with a limit on wrong tries."""

    def authenticate(
        self,
        request: HttpRequest | None,
        username: str | None = None,
        password: str | None = None,
        **kwargs: Any,
    ) -> Any:
        """Return the user, or ``None`` for a wrong password or too many of them."""
        name = username or ""
        if must_wait(request, name):
            return None
        user = super().authenticate(request, username=username, password=password, **kwargs)
        key = _counter_key(request, name)
        if user is not None:
            cache.delete(key)
        # `add` starts the clock with the first wrong try; `incr` leaves it be.
        elif not cache.add(key, 1, timeout=settings.SIGN_IN_WAIT_SECONDS):
            cache.incr(key)
        return user
