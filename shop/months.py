"""Calendar months, as ages are counted in them."""

from __future__ import annotations

from calendar import monthrange
from datetime import date


def whole_months(first: date, last: date) -> int:
    """Whole calendar months from ``first`` to ``last``; below zero where it lies before."""
    months = (last.year - first.year) * 12 + last.month - first.month
    return months - (last.day < first.day)


def first_of_month(today: date, age_months: int) -> date:
    """The month so long before ``today``, by its first day."""
    months = today.year * 12 + today.month - 1 - age_months
    return date(months // 12, months % 12 + 1, 1)


def months_later(day: date, months: int) -> date:
    """The same day of the month so many months later, or the last day where there is none."""
    total = day.year * 12 + day.month - 1 + months
    year, month = total // 12, total % 12 + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))
