"""Reminders by the thousand that are due now, of one job of the invented shop."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, time, timedelta

from scheduling.models import Reminder, ReminderPurpose
from shop.models import Job, Shop
from tests import factories


def awake_shop() -> Shop:
    """Make a shop without quiet hours: the real clock of these rounds may say night."""
    shop: Shop = factories.ShopFactory(quiet_from=time(0), quiet_until=time(0))
    return shop


def booked_job(shop: Shop, now: datetime) -> Job:
    """Make a booked job whose customer has agreed to be written to, both ways."""
    times = {"arrives_at": 1, "ready_at": 2, "promised_at": 3}
    job: Job = factories.JobFactory(
        shop=shop, booked=True, **{name: now + timedelta(days=d) for name, d in times.items()}
    )
    for channel in ("email", "text"):
        factories.ConsentFactory(customer=job.customer, channel=channel)
    return job


def due_reminders(job: Job, keys: Iterable[str], now: datetime, channel: str = "email") -> int:
    """Write one reminder for each key, due since a minute ago; return how many."""
    rows = [
        Reminder(
            shop=job.shop,
            job=job,
            customer=job.customer,
            purpose=ReminderPurpose.DAY_BEFORE,
            channel=channel,
            key=key,
            due_at=now - timedelta(minutes=1),
            why="stress",
        )
        for key in keys
    ]
    Reminder.objects.bulk_create(rows, batch_size=1000)
    return len(rows)
