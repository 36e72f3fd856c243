"""What the templates of the quote desk are given."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import datetime
from typing import Any, Final
from uuid import uuid4

from estimating.core.catalogue import Catalogue
from estimating.core.result import Estimate
from estimating.core.words import GROUPS
from estimating.web.pictures import curve_of
from estimating.web.words import GROUPS as GROUP_NAMES
from estimating.web.words import LEVELS
from scheduling.selectors.drafts import drafts_of
from scheduling.web.desk_call import Call
from scheduling.web.deskform import DeskForm
from shop.access import MemberRequest
from shop.callers import callers_search, typed_apart

# Fields that are held against their rules while one types.
CHECKED: Final = ("email", "age_years", "cleared", "cap", "earliest", "price", "discount")
_NARROWS_LITTLE = 0.005


def shown(
    request: MemberRequest, call: Call, now: datetime, *, whole: bool = True
) -> dict[str, Any]:
    """Everything of the page; without ``whole`` only what a change can change."""
    form, estimate = call.form, call.estimate
    cap = form.said("cap") if form.said("aim") == "cap" else None
    context = {
        "form": form,
        "call": call,
        "replaces": call.vehicle is not None and form.said("replaces") is not None,
        "estimate": estimate,
        "offered": call.offered,
        "floor": request.member.shop.floor_margin,
        "currency": request.member.shop.currency,
        "hours": [estimate.minutes.p10 / 60, estimate.minutes.p50 / 60, estimate.minutes.p90 / 60]
        if estimate
        else None,
        "curve": curve_of(estimate.curve, cap) if estimate else None,
        "groups": _groups(estimate, call.catalogue) if estimate else [],
        "questions": _questions(form, estimate),
        # Everything else is expected by age, so it comes before what narrows the rest.
        "age_open": form.inspection() is None and form.said("age_years") is None,
        "turn": (form.said("turn") or (call.draft.turn if call.draft else 0)) + 1,
        "checked": CHECKED,
        "now": now,
    }
    if whole:
        context |= shown_callers(request, call) | shown_visits(call, now)
        context["drafts"] = drafts_of(request.member.shop, request.member, now)
        context["focus"] = _focus(call)
        context["page_id"] = uuid4().hex[:12]
    return context


def shown_callers(request: MemberRequest, call: Call) -> dict[str, Any]:
    """Who fits what was typed into the box."""
    known = call.vehicle or call.customer
    text = "" if known else str(call.form["q"].value() or "").strip()
    return {
        "found": callers_search(request.member.shop, text, limit=6) if text else [],
        "searched": text,
        "typed": typed_apart(text) if text else None,
        "call": call,
    }


def shown_visits(call: Call, now: datetime) -> dict[str, Any]:
    """The visits, with the one that is ticked."""
    offers = call.offers.choices if call.offers else []
    slots = [offer.key for offer in offers]
    slot = call.form.said("slot")
    return {
        "call": call,
        "kept": call.kept,
        "lapsed": call.lapsed,
        # The page does not wait for the calendar: a piece of its own asks for the visits.
        "waiting": call.estimate is not None and call.offers is None and not call.no_offer,
        "offers": list(zip(slots, offers, strict=True)),
        # Overtime costs more: it is never what happens to be ticked.
        "slot": slot if slot in slots else (slots[0] if call.offers and call.offers.found else ""),
        "slot_gone": bool(slot and slots and slot not in slots),
        "reasons": call.offers.reasons if call.offers else [],
        "now": now,
    }


def _focus(call: Call) -> str:
    """The field to begin with: who calls, then what is not said yet."""
    if call.form.errors or call.problem:
        return ""
    if call.vehicle is not None:
        return "age_years" if call.form["age_years"].value() in (None, "") else ""
    if call.customer is None and not call.form["name"].value():
        return "phone" if not call.form["q"].value() and call.form["plate"].value() else "q"
    return "description" if not call.form["description"].value() else ""


def _questions(form: DeskForm, estimate: Estimate | None) -> dict[str, Any]:
    """The catalogue's questions as fields, the most useful first, and what to ask next."""
    ranked = {row.code: row for row in estimate.questions} if estimate else {}
    order = sorted(
        form.questions,
        key=lambda code: -ranked[code].narrows if code in ranked else 1.0,
    )
    useful = [row for row in ranked.values() if row.narrows > _NARROWS_LITTLE]
    return {
        "fields": [form[code] for code in order],
        "next": max(useful, key=lambda row: row.narrows) if useful else None,
    }


def _groups(estimate: Estimate, catalogue: Catalogue) -> list[dict[str, Any]]:
    """Level by panel group: how many panels of each side get which level and spot work."""
    group_of = {row.code: row.group for row in catalogue.panel_kinds}
    found = []
    for group in GROUPS:
        plans = [plan for plan in estimate.panels if group_of.get(plan.panel) == group]
        if not plans:
            continue
        levels = Counter(plan.level for plan in plans)
        found.append(
            {
                "name": GROUP_NAMES[group],
                "panels": len(plans),
                "levels": [(code, levels[code]) for code in LEVELS if levels[code]],
                "spots": _spots(plans),
                "cleared": sum(plan.cleared * plan.area_m2 for plan in plans)
                / sum(plan.area_m2 for plan in plans),
            }
        )
    return found


def _spots(plans: Sequence[Any]) -> int:
    return sum(
        work.count for plan in plans for work in plan.spot_work if work.method in ("sand", "fill")
    )
