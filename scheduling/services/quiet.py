"""Quiet hours: no message between two times of the reader's clock."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from scheduling.core.worktime import instant_of
from shop.models import Customer, Member, Shop


def is_quiet(clock: time, quiet_from: time, quiet_until: time) -> bool:
    """Whether a wall-clock time lies in ``[quiet_from, quiet_until)``, over midnight or not."""
    if quiet_from <= quiet_until:
        return quiet_from <= clock < quiet_until
    return clock >= quiet_from or clock < quiet_until


def after_quiet(at: datetime, quiet_from: time, quiet_until: time, zone: ZoneInfo) -> datetime:
    """Return ``at``, or the end of the quiet hours it falls into, in UTC.

    Where the end is a time that the spring change skips, it is the end of the
    change; where the autumn change repeats it, its first occurrence.
    """
    local = at.astimezone(zone)
    if not is_quiet(local.time(), quiet_from, quiet_until):
        return at
    day = local.date()
    if local.time() >= quiet_until:
        day += timedelta(days=1)
    return instant_of(day, quiet_until, zone)


def polite(at: datetime, reader: Customer | Member, shop: Shop) -> datetime:
    """Move a due time out of the shop's quiet hours, on the reader's clock."""
    own_zone = reader.zone if isinstance(reader, Customer) else ""
    zone = ZoneInfo(own_zone or shop.zone)
    return after_quiet(at, shop.quiet_from, shop.quiet_until, zone)
