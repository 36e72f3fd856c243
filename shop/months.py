"""Calendar months, as ages are counted in them."""

from __future__ import annotations

from datetime import date


def whole_months(first: date, last: date) -> int:
    """Whole calendar months from ``first`` to ``last``; below zero where it lies before."""
    months = (last.year - first.year) * 12 + last.month - first.month
    return months - (last.day < first.day)


def first_of_month(today: date, age_months: int) -> date:
    """The month so long before ``today``, by its first day."""
    months = today.year * 12 + today.month - 1 - age_months
    return date(months // 12, months % 12 + 1, 1)
