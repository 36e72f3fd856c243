"""Public holidays of a country or a part of it, by the `holidays` library.

The library is loaded at the first question: with its translations that takes more than half a
second, which a shop without a chosen country never pays.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import lru_cache
from importlib import import_module
from typing import Any

from django.utils.translation import gettext as _

from shop.refusals import Problem


def holidays_of(country: str, subdivision: str, year: int) -> Mapping[date, str]:
    """Return the public holidays of one year with their names; days in lieu are among them.

    Parameters
    ----------
    country
        ISO 3166-1 code of two letters; blank: no holidays.
    subdivision
        Code of a state, province or land, as the library has it; blank: the whole country's.
    year
        Calendar year.
    """
    return _year(country, subdivision, year) if country else {}


@lru_cache(maxsize=256)
def _year(country: str, subdivision: str, year: int) -> Mapping[date, str]:
    found = _library().country_holidays(country, subdiv=subdivision or None, years=year)
    return {day: str(found[day]) for day in sorted(found)}


def region_problem(country: str, subdivision: str) -> Problem | None:
    """Return what is wrong with a choice of country and subdivision, or None."""
    if not country:
        if not subdivision:
            return None
        return Problem(
            _("%s: choose the country of the holidays as well, or leave both blank.") % subdivision,
            "holiday_subdivision",
        )
    known: Mapping[str, list[str]] = _library().list_supported_countries()
    if country not in known:
        return Problem(
            _("No holidays are known for “%s”; write an ISO code of two letters such as US or DE.")
            % country,
            "holiday_country",
        )
    if subdivision and subdivision not in known[country]:
        return Problem(
            _("“%(given)s” is no part of %(country)s; leave it blank or write one of: %(known)s.")
            % {
                "given": subdivision,
                "country": country,
                "known": ", ".join(known[country]) or _("(none)"),
            },
            "holiday_subdivision",
        )
    return None


def _library() -> Any:
    return import_module("holidays")
