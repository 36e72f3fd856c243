"""How money, time and film are written on a page. Template tags are thin over this."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal
from typing import Any, Final

import phonenumbers
from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from shop.money import minor_units

SYMBOLS: Final = {"USD": "$", "EUR": "€", "GBP": "£", "JPY": "¥", "CAD": "CA$", "AUD": "A$"}
UM_PER_MIL: Final = 25.4  # exact by definition of the inch
UNIT_NAMES: Final = {"mil": "mil", "um": "µm"}
FAR_DAYS: Final = 6  # beyond this a weekday alone could be mistaken


def money_text(amount: Any, currency: str, *, whole: bool = False) -> str:
    """Write an amount with its currency, such as ``$1,010.00``.

    Parameters
    ----------
    amount
        Decimal, or the text of one. None and empty text give a dash.
    currency
        ISO 4217 code; one without a sign of its own is written out.
    whole
        Round to whole units, for estimates that would otherwise look exact.
    """
    if amount is None or amount == "":
        return "–"
    digits = 0 if whole else minor_units(currency)
    step = Decimal(1).scaleb(-digits)
    rounded = Decimal(str(amount)).quantize(step, rounding=ROUND_HALF_UP)
    number = formats.number_format(abs(rounded), decimal_pos=digits, force_grouping=True)
    sign = "−" if rounded < 0 else ""
    symbol = SYMBOLS.get(currency)
    return f"{sign}{symbol}{number}" if symbol else f"{sign}{currency} {number}"


def minutes_text(minutes: Any) -> str:
    """Write a length of time in minutes as ``1 h 45 min``."""
    if minutes is None or minutes == "":
        return "–"
    hours, rest = divmod(round(float(minutes)), 60)
    if not hours:
        return _("%(rest)d min") % {"rest": rest}
    if not rest:
        return _("%(hours)d h") % {"hours": hours}
    return _("%(hours)d h %(rest)02d min") % {"hours": hours, "rest": rest}


def hours_text(hours: Any) -> str:
    """Write hours with one decimal, without the unit; from ten hours on, whole ones."""
    if hours is None or hours == "":
        return "–"
    value = float(hours)
    return formats.number_format(f"{value:.1f}" if value < 10 else f"{value:.0f}")


def film_text(film_um: Any, unit: str) -> str:
    """Write a film thickness given in micrometres in the shop's unit, without the unit."""
    if film_um is None or film_um == "":
        return "–"
    value = float(film_um) / UM_PER_MIL if unit == "mil" else float(film_um)
    return formats.number_format(f"{value:.2f}" if unit == "mil" else f"{value:.0f}")


def percent_text(share: Any) -> str:
    """Write a share between 0 and 1 as whole percent."""
    if share is None or share == "":
        return "–"
    percent = (Decimal(str(share)) * 100).quantize(Decimal(1), rounding=ROUND_HALF_UP)
    return f"{percent} %"


def sure_text(probability: Any) -> str:
    """Write a probability of a promise: rounded down, and never as certain."""
    percent = (Decimal(str(probability)) * 100).quantize(Decimal(1), rounding=ROUND_DOWN)
    if percent >= 99:
        return _("over 99 % sure")
    return _("%s %% sure") % percent


def clock_text(at: datetime, tz: Any) -> str:
    """Write the time of day in zone ``tz``."""
    return formats.date_format(at.astimezone(tz), "G:i")


def day_text(at: datetime, tz: Any, now: datetime | None = None) -> str:
    """Write the day: today, tomorrow, a weekday within the week, otherwise with its date."""
    day = at.astimezone(tz).date()
    if now is None:
        return far_day_text(day)
    distance = day - now.astimezone(tz).date()
    if distance == timedelta(0):
        return _("today")
    if distance == timedelta(days=1):
        return _("tomorrow")
    if distance == timedelta(days=-1):
        return _("yesterday")
    if timedelta(0) < distance <= timedelta(days=FAR_DAYS):
        return formats.date_format(day, "D j M")
    return far_day_text(day, same_year=day.year == now.astimezone(tz).year)


def last_day_text(end: datetime, tz: Any) -> str:
    """Write the last day of what ends at midnight ``end`` (exclusive)."""
    return day_text(end - timedelta(seconds=1), tz)


def far_day_text(day: date, *, same_year: bool = False) -> str:
    """Write a day with its date, and with its year unless that goes without saying."""
    return formats.date_format(day, "D j M" if same_year else "j M Y")


def when_text(at: datetime | None, tz: Any, now: datetime | None = None) -> str:
    """Write day and time of day; the day as :func:`day_text` does."""
    if at is None:
        return "–"
    return f"{day_text(at, tz, now)} {clock_text(at, tz)}"


def phone_text(number: str) -> str:
    """Write an E.164 number in groups, as it is read out."""
    try:
        parsed = phonenumbers.parse(number, None)
    except phonenumbers.NumberParseException:
        return number
    return phonenumbers.format_number(parsed, phonenumbers.PhoneNumberFormat.INTERNATIONAL)


def age_text(months: int | None) -> str:
    """Write an age in months up to two years, in years from then on."""
    if months is None:
        return _("not known")
    if months < 24:
        return ngettext("%(n)d month", "%(n)d months", months) % {"n": months}
    years = months // 12
    return ngettext("%(n)d year", "%(n)d years", years) % {"n": years}


def days_text(hours: float) -> str:
    """Write hours as whole days, rounded up: for waits that must not be cut short."""
    days = -(-float(hours) // 24)
    return ngettext("%(n)d day", "%(n)d days", int(days)) % {"n": days}
