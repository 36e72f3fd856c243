"""Moments in words, in the shop's zone: the only place where services leave UTC."""

from __future__ import annotations

from datetime import datetime

from shop.models import Shop


def moment_text(at: datetime, shop: Shop) -> str:
    """Return a moment on the shop's clock, such as ``Tue 3 Mar 09:00``."""
    local = at.astimezone(shop.tz)
    return f"{local:%a} {local.day} {local:%b %H:%M}"


def stretch_text(start: datetime, end: datetime, shop: Shop) -> str:
    """Return a stretch on the shop's clock; the day is said once where it is one day."""
    if start.astimezone(shop.tz).date() == end.astimezone(shop.tz).date():
        return f"{moment_text(start, shop)} to {end.astimezone(shop.tz):%H:%M}"
    return f"{moment_text(start, shop)} to {moment_text(end, shop)}"
