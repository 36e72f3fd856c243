"""Reminders: what is due, went out, failed or was stopped, and why; send now, stop, preview."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST, require_safe

from scheduling.models import Reminder, ReminderState
from scheduling.selectors import reminders_count, reminders_list
from scheduling.services.message_facts import READ_WITH
from scheduling.services.reminders import reminder_send_now, reminder_stop
from scheduling.services.wording import Written, message_write
from scheduling.web.forms import StopForm
from shop.access import DESK, OWNER, MemberRequest, member_required
from shop.refusals import Refused
from shop.web.pages import add_refusal, page

S = ReminderState
TABS: Final = {
    "due": (gettext_lazy("Due"), (S.DUE, S.CLAIMED)),
    "sent": (gettext_lazy("Sent"), (S.SENT,)),
    "trouble": (gettext_lazy("Failed or unknown"), (S.FAILED, S.UNKNOWN)),
    "stopped": (gettext_lazy("Withdrawn or too late"), (S.WITHDRAWN, S.EXPIRED)),
}
KINDS: Final[Mapping[str, str]] = {S.SENT: "good", S.FAILED: "stop", S.UNKNOWN: "watch"}
OPEN: Final = frozenset({S.DUE, S.FAILED, S.UNKNOWN})
ROWS_SHOWN: Final = 50


@require_safe
@member_required(DESK)
def reminders(request: MemberRequest) -> HttpResponse:
    """List the messages of one tab."""
    return _list(request, request.GET.get("show", ""))


@require_safe
@member_required(DESK)
def preview(request: MemberRequest, pk: int) -> HttpResponse:
    """Show what a message said, or will say with the facts of now."""
    row = _row(request, pk)
    written, trouble = Written(row.subject, row.body, ""), ""
    if row.state != S.SENT:
        try:
            written = message_write(row)
        except Refused as refused:
            trouble = str(refused)
    context = {"row": row, "written": written, "trouble": trouble, "now": timezone.now()}
    return page(request, "reminders/preview.html", context)


@require_POST
@member_required(DESK)
def send(request: MemberRequest, pk: int) -> HttpResponse:
    """Send one message at once."""
    row, now = _row(request, pk), timezone.now()
    try:
        done = reminder_send_now(reminder=row, member=request.member, now=now)
    except Refused as refused:
        messages.error(request, str(refused))
        return _list(request, request.POST.get("back", ""), status=refused.status)
    words = {"what": row.get_purpose_display(), "who": row.reader.name}
    if done.state == S.SENT:
        messages.success(request, _("“%(what)s” was sent to %(who)s.") % words)
    else:
        words |= {"state": done.get_state_display().lower(), "error": done.error}
        messages.warning(request, _("“%(what)s” to %(who)s: %(state)s. %(error)s") % words)
    return _back(request)


@require_POST
@member_required(DESK)
def stop(request: MemberRequest, pk: int) -> HttpResponse:
    """Keep one message from being sent."""
    row, now = _row(request, pk), timezone.now()
    form = StopForm(request.POST, prefix=f"stop-{pk}")
    status = 400
    if form.is_valid():
        try:
            reminder_stop(
                reminder=row, member=request.member, now=now, why=form.cleaned_data["why"]
            )
        except Refused as refused:
            add_refusal(form, refused)
            status = refused.status
        else:
            messages.success(
                request, _("“%s” is stopped; it will not be sent.") % row.get_purpose_display()
            )
            return _back(request)
    return _list(request, request.POST.get("back", ""), status=status, stopping=(pk, form))


def _row(request: MemberRequest, pk: int) -> Reminder:
    rows = Reminder.objects.of(request.member.shop).select_related(*READ_WITH)
    return get_object_or_404(rows, pk=pk)


def _back(request: MemberRequest) -> HttpResponse:
    tab = request.POST.get("back", "")
    return redirect(_address(tab if tab in TABS else "due"))


def _address(tab: str) -> str:
    return f"{reverse('reminders')}?{urlencode({'show': tab})}"


def _list(
    request: MemberRequest,
    tab: str,
    *,
    status: int = 200,
    stopping: tuple[int, StopForm] | None = None,
) -> HttpResponse:
    shop = request.member.shop
    counts = reminders_count(shop)
    if tab not in TABS:
        # What needs a person comes first.
        tab = "trouble" if _count(counts, "trouble") else "due"
    newest_first = tab in ("sent", "stopped")
    rows = reminders_list(shop, states=TABS[tab][1], limit=ROWS_SHOWN, newest_first=newest_first)
    context = {
        "rows": [_shown(row, stopping) for row in rows],
        "shown": len(rows),
        "total": _count(counts, tab),
        "tab": tab,
        "tabs": [
            {
                "label": label,
                "url": _address(name),
                "count": _count(counts, name),
                "current": name == tab,
            }
            for name, (label, _states) in TABS.items()
        ],
        "now": timezone.now(),
        "may_word": request.member.role in OWNER,
        **EMPTY[tab](),
    }
    return page(request, "reminders/reminders.html", context, status=status)


def _count(counts: Mapping[str, int], tab: str) -> int:
    return sum(counts.get(state, 0) for state in TABS[tab][1])


def _shown(row: Reminder, stopping: tuple[int, StopForm] | None) -> dict[str, Any]:
    mine = stopping is not None and stopping[0] == row.pk
    return {
        "row": row,
        "kind": KINDS.get(row.state, ""),
        "may_act": row.state in OPEN,
        # A prefix keeps the fields of several forms on one page apart.
        "form": stopping[1] if stopping and mine else StopForm(prefix=f"stop-{row.pk}"),
    }


EMPTY: Final[Mapping[str, Callable[[], dict[str, str]]]] = {
    "due": lambda: {
        "empty_title": _("Nothing is due"),
        "empty_text": _(
            "A quote, a booking, a cure and a hand-over each write their messages here, "
            "with the time at which they go out."
        ),
    },
    "sent": lambda: {
        "empty_title": _("Nothing was sent yet"),
        "empty_text": _("What went out stands here with its time and its wording."),
    },
    "trouble": lambda: {
        "empty_title": _("All is well"),
        "empty_text": _("Messages that failed, or of which nobody knows, wait here for a person."),
    },
    "stopped": lambda: {
        "empty_title": _("Nothing was stopped"),
        "empty_text": _("Messages whose cause went away, or whose time passed, end up here."),
    },
}
