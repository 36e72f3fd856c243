"""Bay calendar: a day, a week or two of bays, crew and lamps, with what is at risk."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Final
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import formats, timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from scheduling.selectors import Calendar, calendar_week, climate_latest, plan_open
from scheduling.selectors.calendar_stamp import calendar_stamp, stamp_text
from scheduling.services.horizon import GRID_MINUTES
from scheduling.web.calendar_page import aways_of, calendar_page
from scheduling.web.forms import AbsenceForm
from scheduling.web.trouble import troubles_of
from shop.access import DESK, MemberRequest, member_required
from shop.models import Role
from shop.web.pages import page

DAYS_OF_VIEW: Final = {"day": 1, "week": 7, "fortnight": 14}
# What an arrow key moves a visit by, and a drag in whole ones.
STEP_MINUTES: Final = {"day": GRID_MINUTES, "week": 15, "fortnight": 30}
# Far enough for any booking, and every date a calendar can be asked for.
FIRST_YEAR: Final = 2000
LAST_YEAR: Final = 2100


@require_safe
@member_required()
def calendar(request: MemberRequest) -> HttpResponse:
    """Show a day, a week or two (``?view=day``, ``fortnight``) from ``?day=YYYY-MM-DD``."""
    return show_calendar(request)


@require_safe
@member_required()
def calendar_live(request: MemberRequest) -> HttpResponse:
    """Answer the parts of the page that change by themselves, or 204 where ``?seen=`` is so."""
    now = timezone.now()
    asked = _asked(request, now)
    if request.GET.get("seen") == calendar_stamp(request.member.shop, now):
        return HttpResponse(status=204)
    read = calendar_week(request.member.shop, asked.first_day, DAYS_OF_VIEW[asked.view])
    return render(request, "calendar/live.html", _parts(request, read, asked, now))


def show_calendar(
    request: MemberRequest, *, form: AbsenceForm | None = None, status: int = 200
) -> HttpResponse:
    """Answer the whole page; ``form`` is one that was refused."""
    shop, now = request.member.shop, timezone.now()
    asked = _asked(request, now)
    if not asked.known:
        text = _("“%s” is no day; write one such as 2026-03-02. Today is shown.")
        messages.error(request, text % request.GET["day"][:20])
    read = calendar_week(shop, asked.first_day, DAYS_OF_VIEW[asked.view])
    form = form or AbsenceForm(shop=shop)
    form.offer(read.units)
    context = {
        **_parts(request, read, asked, now),
        "day": asked.day,
        "plan_open": plan_open(shop),
        "may_feeds": request.member.role != Role.FRONT_DESK,
        "away_form": form if request.member.role in DESK else None,
        **_ways(asked.view, asked.day, asked.first_day, now.astimezone(shop.tz).date()),
    }
    return page(request, "calendar/calendar.html", context, status=status)


@dataclass(frozen=True)
class _Asked:
    view: str
    day: date
    known: bool
    """Whether what was asked for is a day at all."""

    @property
    def first_day(self) -> date:
        return self.day if self.view == "day" else self.day - timedelta(days=self.day.weekday())


def _asked(request: MemberRequest, now: datetime) -> _Asked:
    given = request.GET.get("day", "")
    day = _day(given)
    view = request.GET.get("view", "week")
    today = now.astimezone(request.member.shop.tz).date()
    return _Asked(
        view if view in DAYS_OF_VIEW else "week", day or today, known=bool(day) or not given
    )


def _parts(request: MemberRequest, read: Calendar, asked: _Asked, now: datetime) -> dict[str, Any]:
    shop = request.member.shop
    return {
        "page": calendar_page(read, shop.tz, now),
        "troubles": troubles_of(read, climate_latest(shop, now), shop.tz, now),
        "aways": aways_of(read, now),
        "now": now,
        "may_desk": request.member.role in DESK,
        "stamp": stamp_text(read.units[0], shop, now) if read.units else "",
        "step": STEP_MINUTES[asked.view],
        "query": urlencode({"view": asked.view, "day": asked.day.isoformat()}),
    }


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
