"""Tags and filters of every page: figures with units, days, judgement, work patterns.

Figures come out as ``<span class="num">`` so that digits line up; the unit
stands after them in soft ink. Tags that need the shop take it from the
request's member, and the time from ``now`` in the context.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any, Final

from django import template
from django.forms import BoundField, CheckboxInput
from django.urls import NoReverseMatch, reverse
from django.utils.dates import WEEKDAYS
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy as _

from shop.access import DESK, EVERYONE
from shop.web import show

register = template.Library()

SCREENS: Final = (
    ("calendar", _("Calendar"), EVERYONE),
    ("desk", _("Quote desk"), DESK),
    ("floor", _("Floor"), EVERYONE),
    ("customers", _("Customers"), DESK),
    ("reminders", _("Reminders"), DESK),
)

JUDGEMENTS: Final = {"success": "good", "warning": "watch", "error": "stop"}
NOT_KNOWN: Final = SafeString("–")

MARKS: Final = {"good": "✓", "watch": "!", "stop": "×"}

# Preparation shares one pattern; add-ons are plain like correction.
PATTERNS: Final = {
    "wash": "wash",
    "mask": "wash",
    "wipe": "wash",
    "correction": "correction",
    "add_on": "correction",
    "spot": "spot",
    "coating": "coating",
    "cure": "cure",
}


@register.simple_tag(takes_context=True)
def screens(context: Any) -> list[dict[str, Any]]:
    """Screens that the signed-in person may open, the current one marked."""
    request = context["request"]
    here = request.path
    found = []
    for name, label, roles in SCREENS:
        if request.member.role not in roles:
            continue
        try:
            url = reverse(name)
        except NoReverseMatch:
            continue
        found.append({"url": url, "label": label, "current": here.startswith(url)})
    return found


@register.filter
def money(amount: Any, currency: str) -> SafeString:
    """Amount with its currency to the last minor unit."""
    return format_html('<span class="num">{}</span>', show.money_text(amount, currency))


@register.filter
def money_whole(amount: Any, currency: str) -> SafeString:
    """Amount in whole units: for estimates."""
    text = show.money_text(amount, currency, whole=True)
    return format_html('<span class="num">{}</span>', text)


@register.filter
def minutes(value: Any) -> SafeString:
    """Minutes as ``1 h 45 min``."""
    return format_html('<span class="num">{}</span>', show.minutes_text(value))


@register.filter
def hours(value: Any) -> SafeString:
    """Hours with one decimal and the unit."""
    return _with_unit(show.hours_text(value), "h")


@register.filter
def hours_bare(value: Any) -> str:
    """Hours with one decimal, for ranges that name the unit once."""
    return show.hours_text(value)


@register.filter
def film(film_um: Any, unit: str) -> SafeString:
    """Film given in micrometres, in ``unit`` and with it."""
    return _with_unit(show.film_text(film_um, unit), show.UNIT_NAMES[unit])


@register.filter
def film_bare(film_um: Any, unit: str) -> str:
    """Film given in micrometres, in ``unit`` without it: for ranges that name it once."""
    return show.film_text(film_um, unit)


@register.filter
def unit_name(unit: str) -> str:
    """Unit of film as it is written."""
    return show.UNIT_NAMES.get(unit, unit)


@register.filter
def percent(share: Any) -> SafeString:
    """Share between 0 and 1 as whole percent."""
    return format_html('<span class="num">{}</span>', show.percent_text(share))


@register.filter
def sure(probability: Any) -> SafeString:
    """Probability of a promise, in words that never claim certainty."""
    return format_html('<span class="num">{}</span>', show.sure_text(probability))


@register.filter
def phone(number: str) -> str:
    """E.164 number as people read it."""
    return show.phone_text(number)


@register.filter
def age(months: int | None) -> str:
    """Age given in whole months, in words."""
    return show.age_text(months)


def _with_unit(number: str, unit: str) -> SafeString:
    return format_html('<span class="num">{} <span class="unit">{}</span></span>', number, unit)


def _tz(context: Any) -> Any:
    # A customer's page has no member; it says in which zone its shop is.
    return context.get("tz") or context["request"].member.shop.tz


@register.simple_tag(takes_context=True)
def when(context: Any, at: datetime | None) -> SafeString:
    """Day and time in the shop's zone, machine-readable beside it."""
    if at is None:
        return NOT_KNOWN
    text = show.when_text(at, _tz(context), context.get("now"))
    return format_html('<time class="nowrap" datetime="{}">{}</time>', at.isoformat(), text)


@register.simple_tag(takes_context=True)
def when_plain(context: Any, at: datetime | None) -> str:
    """Day and time as bare text, for options of a list."""
    return show.when_text(at, _tz(context), context.get("now"))


@register.simple_tag(takes_context=True)
def day(context: Any, at: datetime | None) -> SafeString:
    """Day in the shop's zone."""
    if at is None:
        return NOT_KNOWN
    text = show.day_text(at, _tz(context), context.get("now"))
    return format_html('<time class="nowrap" datetime="{}">{}</time>', at.isoformat(), text)


@register.simple_tag(takes_context=True)
def clock(context: Any, at: datetime | None) -> SafeString:
    """Time of day in the shop's zone."""
    if at is None:
        return NOT_KNOWN
    text = show.clock_text(at, _tz(context))
    return format_html('<time class="num" datetime="{}">{}</time>', at.isoformat(), text)


@register.simple_tag(takes_context=True)
def date_of(context: Any, at: datetime) -> str:
    """The date, never "today": for what is printed."""
    return show.day_text(at, _tz(context))


@register.simple_tag(takes_context=True)
def last_day(context: Any, end: datetime) -> str:
    """The last day of what ends at midnight ``end`` (exclusive)."""
    return last_day_in(end, _tz(context))


@register.filter
def last_day_in(end: datetime, tz: Any) -> str:
    """The last day of what ends at midnight ``end`` (exclusive), in zone ``tz``."""
    return show.last_day_text(end, tz)


@register.filter
def days_of(hours: float) -> str:
    """Hours as whole days."""
    return show.days_text(hours)


@register.filter
def weekday_name(weekday: int) -> str:
    """Name of a weekday; Monday is 0."""
    return str(WEEKDAYS[weekday])


@register.filter
def judgement(level_tag: str) -> str:
    """Class name of a message's level."""
    return JUDGEMENTS.get(level_tag, "")


@register.filter
def judgement_mark(level_tag: str) -> str:
    """Mark that goes with a message's level, so that colour never stands alone."""
    return MARKS.get(JUDGEMENTS.get(level_tag, ""), "")


@register.simple_tag
def badge(word: Any, kind: str = "") -> SafeString:
    """A state as a word; ``good``, ``watch`` and ``stop`` get their mark."""
    mark = MARKS.get(kind, "")
    if not mark:
        return format_html('<span class="badge">{}</span>', word)
    return format_html(
        '<span class="badge {}"><span aria-hidden="true">{}</span> {}</span>', kind, mark, word
    )


@register.filter
def pattern(kind: str) -> str:
    """Fill of a kind of work: ``<rect fill="{{ operation.kind|pattern }}">``."""
    return f"url(#pat-{PATTERNS.get(kind, 'waiting')})"


@register.simple_tag
def swatch(kind: str) -> SafeString:
    """A small sample of a kind's pattern, for keys and lists."""
    return format_html(
        '<svg class="swatch" viewBox="0 0 24 16" aria-hidden="true" focusable="false">'
        '<rect class="d-line" x=".5" y=".5" width="23" height="15" fill="{0}"/>'
        '<rect x="1" y="1" width="22" height="14" fill="{0}"/></svg>',
        pattern(kind),
    )


@register.filter
def is_tick(field: BoundField) -> bool:
    """Whether a form field is one tick box, whose label stands after it."""
    return isinstance(field.field.widget, CheckboxInput)
