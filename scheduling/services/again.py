"""A write that the database broke off is tried again, a bounded number of times."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from functools import wraps
from typing import Final, ParamSpec, TypeVar

from django.db import OperationalError, connection
from django.utils.translation import gettext as _

from shop.refusals import Conflict

TRIES: Final = 6
GIVES_UP_SECONDS: Final = 25.0
"""SQLite itself waits for another writer before it says that it is locked."""
_FIRST_PAUSE_SECONDS: Final = 0.02
# Serialization failure, deadlock, lock not available: PostgreSQL's appendix A, class 40 and 55.
_BROKEN_OFF: Final = frozenset({"40001", "40P01", "55P03"})

P = ParamSpec("P")
T = TypeVar("T")


def is_broken_off(error: OperationalError) -> bool:
    """Whether the same write may succeed when it is tried again: others were in its way."""
    if connection.vendor == "postgresql":
        return getattr(error.__cause__, "sqlstate", None) in _BROKEN_OFF
    return "is locked" in str(error)


def tried_again(service: Callable[P, T]) -> Callable[P, T]:
    """Run a service anew where a deadlock or a lock broke its transaction off.

    Inside somebody's transaction it is theirs to try again: what they wrote is undone too.

    Raises
    ------
    Conflict
        It was broken off every time; nothing is written.
    """

    @wraps(service)
    def trying(*args: P.args, **kwargs: P.kwargs) -> T:
        if connection.in_atomic_block:
            return service(*args, **kwargs)
        gives_up = time.monotonic() + GIVES_UP_SECONDS
        for number in range(TRIES):
            try:
                return service(*args, **kwargs)
            except OperationalError as error:
                if not is_broken_off(error):
                    raise
                last = number == TRIES - 1 or time.monotonic() > gives_up
                if last:
                    raise Conflict(
                        _(
                            "Many people are booking at this moment and this one did not get "
                            "through; nothing was changed. Try again."
                        )
                    ) from error
            # Not all at the same moment again.
            time.sleep(random.uniform(0.5, 1.5) * _FIRST_PAUSE_SECONDS * 2**number)  # noqa: S311
        raise AssertionError  # the last try returned or raised

    return trying
