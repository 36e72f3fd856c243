"""One reminder that is due, and the mailbox it goes to."""

from __future__ import annotations

import mailbox
from email.message import Message
from typing import Any

from scheduling.models import Reminder
from scheduling.notify.mailbox import folder
from tests.factories import NOW, JobFactory, ReminderFactory
from tests.scheduling.shops import agrees


def due_reminder(*, agree: bool = True, **changes: Any) -> Reminder:
    """A message of the day before, due at NOW (09:00 in Chicago, no quiet hour)."""
    job = JobFactory(booked=True)
    if agree:
        agrees(job.customer, channel=changes.get("channel", "email"))
    return ReminderFactory(job=job, due_at=NOW, **changes)


def mails() -> list[Message]:
    """What lies in the mailbox."""
    if not folder().exists():
        return []
    return list(mailbox.Maildir(folder(), create=False))
