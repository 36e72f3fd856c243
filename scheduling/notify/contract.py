"""What every way out takes, and how it says that it failed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Message:
    """One message, ready to go. ``key`` is the same however often it is tried.

    ``stop_link`` is where the reader ends such messages; empty where there is none.
    """

    channel: str
    recipient: str
    subject: str
    text: str
    html: str
    key: str
    sender_name: str
    reply_to: str = ""
    stop_link: str = ""


class NotifyError(Exception):
    """A message that was certainly not taken.

    Attributes
    ----------
    permanent : bool
        Whether trying again is of no use (a wrong address, not a busy server).
    """

    def __init__(self, text: str, *, permanent: bool) -> None:
        super().__init__(text)
        self.permanent = permanent


class Unanswered(Exception):
    """A message that was handed over and not answered: it may have been taken.

    Nobody may send it again without a person who says so.
    """


Carrier = Callable[[Message], None]
"""Hands one message over. Returns when it was taken, raises NotifyError when it certainly
was not, and Unanswered (or anything else) when that is not known."""
