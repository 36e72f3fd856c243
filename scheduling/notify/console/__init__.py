"""Prints messages, for a look at what would go out."""

from __future__ import annotations

import sys

from scheduling.notify.contract import Message


def send(message: Message) -> None:
    """Print one message."""
    head = f"To {message.recipient} ({message.channel})"
    title = f"{head}: {message.subject}" if message.subject else head
    sys.stdout.write(f"--- {title}\n{message.text}\n")
