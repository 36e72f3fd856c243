"""Bay calendar: a day, a week or two of bays, crew and lamps, with what is at risk."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any, Final
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpResponse
from django.urls import reverse
from django.utils import formats, timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from scheduling.selectors import calendar_week, climate_latest, plan_open
from scheduling.web.calendar_page import calendar_page
from scheduling.web.trouble import troubles_of
from shop.access import DESK, MemberRequest, member_required
from shop.models import Role
from shop.web.pages import page

DAYS_OF_VIEW: Final = {"day": 1, "week": 7, "fortnight": 14}
# Far enough for any booking, and every date a calendar can be asked for.
FIRST_YEAR: Final = 2000
LAST_YEAR: Final = 2100


@require_safe
@member_required()
def calendar(request: MemberRequest) -> HttpResponse:
    """Show a day, a week or two (``?view=day``, ``fortnight``) from ``?day=YYYY-MM-DD``."""
    shop, now = request.member.shop, timezone.now()
    today = now.astimezone(shop.tz).date()
    view = request.GET.get("view", "week")
    view = view if view in DAYS_OF_VIEW else "week"
    asked = _day(request.GET.get("day", ""))
    if asked is None and request.GET.get("day"):
        text = _("“%s” is no day; write one such as 2026-03-02. Today is shown.")
        messages.error(request, text % request.GET["day"][:20])
    day = asked or today
    first_day = day if view == "day" else day - timedelta(days=day.weekday())
    read = calendar_week(shop, first_day, DAYS_OF_VIEW[view])
    context = {
        "page": calendar_page(read, shop.tz, now),
        "troubles": troubles_of(read, climate_latest(shop, now), shop.tz, now),
        "now": now,
        "day": day,
        "may_desk": request.member.role in DESK,
        "plan_open": plan_open(shop),
        "may_feeds": request.member.role != Role.FRONT_DESK,
        **_ways(view, day, first_day, today),
    }
    return page(request, "calendar/calendar.html", context)


def _day(text: str) -> date | None:
    try:
        found = date.fromisoformat(text)
    except ValueError:
        return None
    return found if FIRST_YEAR <= found.year < LAST_YEAR else None


def _ways(view: str, day: date, first_day: date, today: date) -> dict[str, Any]:
    """Where the links of the page lead, and what it is called."""
    step = timedelta(days=DAYS_OF_VIEW[view])
    last_day = first_day + step - timedelta(days=1)
    title = formats.date_format(first_day, "l j F Y")
    if view != "day":
        title = _("%(first)s – %(last)s") % {
            "first": formats.date_format(first_day, "D j M"),
            "last": formats.date_format(last_day, "D j M Y"),
        }
    return {
        "view": view,
        "heading": title,
        "previous_url": _address(view, first_day - step),
        "next_url": _address(view, first_day + step),
        "today_url": _address(view, today),
        "shows_today": first_day <= today <= last_day,
        "views": [
            {"label": label, "url": _address(name, day), "current": view == name}
            for name, label in (
                ("day", _("Day")),
                ("week", _("Week")),
                ("fortnight", _("Two weeks")),
            )
        ],
    }


def _address(view: str, day: date) -> str:
    return f"{reverse('calendar')}?{urlencode({'view': view, 'day': day.isoformat()})}"
