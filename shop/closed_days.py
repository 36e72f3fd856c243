"""On which days a shop is closed and why: its own closures, and public holidays not worked."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from shop.models import Closure, Shop
from shop.public_holidays import holidays_of


def closed_days(shop: Shop, first_day: date, last_day: date) -> dict[date, str]:
    """Return the closed days from ``first_day`` to ``last_day``, in order, in one query.

    Returns
    -------
    dict of date to str
        The reason of each: that of the shop's own closure, else the holiday's name.
    """
    own: dict[date, str] = {}
    worked: set[date] = set()
    rows = Closure.objects.of(shop).filter(first_day__lte=last_day, last_day__gte=first_day)
    for row in rows:
        for day in _days(max(row.first_day, first_day), min(row.last_day, last_day)):
            if row.worked:
                worked.add(day)
            else:
                own.setdefault(day, row.reason)
    country, part = shop.holiday_country, shop.holiday_subdivision
    found = {
        day: name
        for year in range(first_day.year, last_day.year + 1)
        for day, name in holidays_of(country, part, year).items()
        if first_day <= day <= last_day and day not in worked
    }
    return dict(sorted((found | own).items()))


def _days(first: date, last: date) -> Iterator[date]:
    while first <= last:
        yield first
        first += timedelta(days=1)
