"""The quote desk: one page for one call, worked out anew with every answer."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from estimating.catalogue_kept import catalogue_kept
from estimating.core.catalogue import Catalogue
from estimating.core.result import Estimate
from estimating.core.words import GROUPS
from estimating.models import Inspection, Quote
from estimating.selectors import inspection_document, local_day, phone_document
from estimating.services.estimates import estimate_make
from estimating.snapshot import operation_parts
from estimating.web.pictures import curve_of
from estimating.web.words import GROUPS as GROUP_NAMES
from estimating.web.words import LEVELS
from scheduling.models import KeptSlot
from scheduling.services.calls import call_book, call_quote
from scheduling.services.kept import slot_keep, slot_release
from scheduling.services.offers import Offer, Offers, offers_find
from scheduling.web.deskform import ANSWERS, DeskForm, filled, start_values
from scheduling.web.kept import kept_slot, with_kept
from scheduling.web.visits import if_moved_address
from shop.access import DESK, MemberRequest, member_required
from shop.models import Customer, Operation, Vehicle
from shop.refusals import Conflict, Refused
from shop.selectors import customers_search
from shop.web.pages import page

# Where a service names a field of a record, and the desk has it under another name.
_FIELD_OF: Final = {"first_used_on": "age_years", **{kept: said for said, kept in ANSWERS.items()}}
_OF_VEHICLE: Final = ("vehicle", "body", "hardness", "age_years", "basis", *ANSWERS)


@dataclass
class Call:
    """One state of the desk: who, about what, and everything worked out from it."""

    form: DeskForm
    vehicle: Vehicle | None
    customer: Customer | None
    catalogue: Catalogue
    estimate: Estimate | None = None
    offers: Offers | None = None
    problem: str = ""
    no_offer: str = ""
    kept: KeptSlot | None = None
    kept_offer: Offer | None = None
    lapsed: bool = False


@member_required(DESK)
@require_http_methods(["GET", "POST"])
def desk(request: MemberRequest) -> HttpResponse:
    """Show the desk; with ``do``, make the quote or book the visit."""
    now = timezone.now()
    given = request.POST if request.method == "POST" else request.GET
    try:
        call = _call(request, given, now)
    except Refused as refused:
        return page(request, "partials/not_ready.html", {"why": str(refused)}, status=409)
    status = 200
    if request.method == "POST" and given.get("do") in ("quote", "book", "ask", "keep", "let_go"):
        _work_out(request, call, now)
        try:
            done = _do(request, call, given["do"], now)
        except Conflict as refused:
            call.problem, status = _text(refused), refused.status
            _find_offers(request, call, now)
        except Refused as refused:
            _place(call, refused)
            status = refused.status
        else:
            if done is not None:
                return done
            status = 400 if call.problem or call.form.errors else 200
    else:
        _work_out(request, call, now)
    return page(request, "desk/desk.html", _shown(request, call, now), status=status)


def _call(request: MemberRequest, given: QueryDict, now: datetime) -> Call:
    """Who and what, from a link, from fields, or from a button that chose somebody."""
    shop = request.member.shop
    catalogue = catalogue_kept(shop, local_day(shop, now))
    taken = given.get("take") or given.get("vehicle", "")
    dropped = "drop" in given
    vehicle = customer = None
    inspections: list[Inspection] = []
    if not dropped and taken.isdecimal():
        vehicle, inspections = _vehicle(request, int(taken))
    owner = given.get("take_customer") or given.get("customer", "")
    if not dropped and vehicle is None and owner.isdecimal():
        customer = Customer.objects.of(shop).filter(pk=int(owner)).first()
    data = filled(start_values(vehicle, inspections, local_day(shop, now)), given)
    if given.get("take"):
        # What is known about the vehicle stands over what was guessed before.
        for name, value in start_values(vehicle, inspections, local_day(shop, now)).items():
            if name in _OF_VEHICLE and value:
                data[name] = value
    if given.get("pick"):
        data["cleared"], data["aim"] = given["pick"], "cleared"
    data["vehicle"] = str(vehicle.pk) if vehicle else ""
    data["customer"] = str(customer.pk) if customer else ""
    form = DeskForm(data, catalogue, inspections)
    form.is_valid()
    slot = kept_slot(shop, given.get("kept", ""), now)
    return Call(
        form, vehicle, customer, catalogue, kept=slot, lapsed="kept" in given and slot is None
    )


def _replaced(call: Call) -> Quote | None:
    """The quote of this vehicle of which the next version is made."""
    pk = call.form.said("replaces")
    if call.vehicle is None or pk is None:
        return None
    return Quote.objects.of(call.vehicle.shop).filter(vehicle=call.vehicle, pk=pk).first()


def _vehicle(request: MemberRequest, pk: int) -> tuple[Vehicle | None, list[Inspection]]:
    """A vehicle, and its inspections on which a quote can rest, newest first."""
    shop = request.member.shop
    rows = Inspection.objects.of(shop).filter(vehicle=pk, panels__isnull=False).distinct()
    found = list(rows.select_related("member", "gauge", "vehicle__customer", "shop")[:5])
    if found:
        return found[0].vehicle, found
    vehicles = Vehicle.objects.of(shop).select_related("customer")
    return vehicles.filter(pk=pk).first(), []


def work_asked(
    request: MemberRequest, given: QueryDict, now: datetime
) -> tuple[list[Operation], datetime, KeptSlot | None]:
    """Work asked for by a state of the desk (none if refused), from when on, and what is kept."""
    call = _call(request, given, now)
    _estimate(request, call, now)
    return _rows(request, call), call.form.not_before(request.member.shop, now), call.kept


def _rows(request: MemberRequest, call: Call) -> list[Operation]:
    if call.estimate is None:
        return []
    rows = operation_parts(call.estimate, float(request.member.shop.plan_quantile))
    return [Operation(**row) for row in rows]


def _work_out(request: MemberRequest, call: Call, now: datetime) -> None:
    """Estimate and offers for the state of the desk; refusals are kept to be shown."""
    _estimate(request, call, now)
    _find_offers(request, call, now)


def _estimate(request: MemberRequest, call: Call, now: datetime) -> None:
    shop, form = request.member.shop, call.form
    inspection = form.inspection()
    if inspection is not None:
        document = inspection_document(inspection)
        document["vehicle"].setdefault("age_months", form.age_months())
    else:
        document = phone_document(form.vehicle_part())
        document["unit"] = shop.film_unit
    document["goal"] = form.goal()
    try:
        call.estimate = estimate_make(
            shop=shop,
            document=document,
            options=form.options(),
            day=local_day(shop, now),
            catalogue=call.catalogue,
        )
    except Refused as refused:
        call.problem = _text(refused)


def _find_offers(request: MemberRequest, call: Call, now: datetime) -> None:
    shop = request.member.shop
    if call.estimate is None:
        return
    rows = _rows(request, call)
    if not rows:
        call.no_offer = _("Nothing is chosen yet that takes time.")
        return
    try:
        found = offers_find(
            shop=shop,
            operations=rows,
            earliest=call.form.not_before(shop, now),
            now=now,
            ignoring=call.kept,
            with_overtime=True,
        )
        call.offers, call.kept_offer = with_kept(found, call.kept, rows)
    except Refused as refused:
        call.no_offer = _text(refused)


def _do(request: MemberRequest, call: Call, what: str, now: datetime) -> HttpResponse | None:
    """Make the quote, or book; None where a field was refused before any service was asked."""
    if what in ("keep", "let_go"):
        _keep_or_let_go(request, call, what, now)
        return None
    _ask_age(call)
    if call.form.errors or call.estimate is None:
        return None
    today = local_day(request.member.shop, now)
    caller = call.form.caller(call.vehicle, call.customer, today)
    wish = call.form.wish(_replaced(call))
    if what in ("quote", "ask"):
        quote = call_quote(member=request.member, caller=caller, wish=wish, now=now)
        messages.success(request, _("Quote %s is made.") % quote.number)
        if what == "ask":
            return redirect(if_moved_address(quote, call.form.said("earliest")))
        return redirect("quote", quote.pk)
    offer = _chosen(call)
    if offer is None:
        call.problem = call.no_offer or _("There is no visit to book; look for a later day.")
        return None
    job = call_book(
        member=request.member,
        caller=caller,
        wish=wish,
        offer=None if offer is call.kept_offer else offer,
        now=now,
        kept=call.kept,
    )
    messages.success(request, _("Job %s is booked.") % job.number)
    return redirect("job", job.pk)


def _keep_or_let_go(request: MemberRequest, call: Call, what: str, now: datetime) -> None:
    """Keep the visit that is picked, instead of another one kept before; or let it go."""
    if what == "let_go":
        if call.kept is not None:
            slot_release(slot=call.kept)
        call.kept, call.lapsed = None, False
        return
    offer = _chosen(call)
    if offer is None or call.estimate is None:
        call.problem = call.no_offer or _("There is no visit to keep; look for a later day.")
        return
    if offer is call.kept_offer:
        return
    shop = request.member.shop
    rows = operation_parts(call.estimate, float(shop.plan_quantile))
    call.kept = slot_keep(
        shop=shop,
        member=request.member,
        operations=[Operation(**row) for row in rows],
        offer=offer,
        now=now,
        said=call.form.said("name") or "",
        instead=call.kept,
    )
    call.kept_offer, call.lapsed = offer, False


def _ask_age(call: Call) -> None:
    """A price may be looked at with the age left open, taken as new, but not offered so."""
    known = call.vehicle is not None and call.vehicle.first_used_on is not None
    if not known and call.form.said("age_years") is None:
        call.form.add_error("age_years", _("Ask how old it is; write 0 for a new one."))


def _chosen(call: Call) -> Offer | None:
    """The offer picked; the earliest where none was, None where the picked one is gone."""
    found = call.offers.choices if call.offers else []
    slot = call.form.said("slot")
    if not slot:
        return found[0] if found else None
    picked = next((offer for offer in found if offer.key == slot), None)
    if picked is None:
        raise Conflict(
            _("The visit that was picked is no longer free. Look at the new ones and pick again.")
        )
    return picked


def _place(call: Call, refused: Refused) -> None:
    """Put each problem of a refusal at its field."""
    for name, texts in refused.by_field().items():
        name = _FIELD_OF.get(name, name)
        for text in texts:
            if name in call.form.fields:
                call.form.add_error(name, text)
            else:
                call.problem = " ".join(filter(None, (call.problem, text)))


def _text(refused: Refused) -> str:
    return " ".join(problem.message for problem in refused.problems)


def _shown(request: MemberRequest, call: Call, now: datetime) -> dict[str, Any]:
    """What the template needs."""
    form, estimate = call.form, call.estimate
    text = (form.said("q") or "") if not (call.vehicle or call.customer) else ""
    offers = call.offers.choices if call.offers else []
    slots = [offer.key for offer in offers]
    slot = form.said("slot")
    cap = form.said("cap") if form.said("aim") == "cap" else None
    return {
        "form": form,
        "call": call,
        "replaces": call.vehicle is not None and form.said("replaces") is not None,
        "estimate": estimate,
        "currency": request.member.shop.currency,
        "hours": [estimate.minutes.p10 / 60, estimate.minutes.p50 / 60, estimate.minutes.p90 / 60]
        if estimate
        else None,
        "curve": curve_of(estimate.curve, cap) if estimate else None,
        "groups": _groups(estimate, call.catalogue) if estimate else [],
        "found": customers_search(request.member.shop, text, limit=6) if text else [],
        "searched": text,
        "offers": list(zip(slots, offers, strict=True)),
        # Overtime costs more: it is never what happens to be ticked.
        "slot": slot if slot in slots else (slots[0] if call.offers and call.offers.found else ""),
        "reasons": call.offers.reasons if call.offers else [],
        "kept": call.kept,
        "lapsed": call.lapsed,
        "questions": _questions(form, estimate),
        "now": now,
    }


def _questions(form: DeskForm, estimate: Estimate | None) -> dict[str, Any]:
    """The catalogue's questions as fields, the most useful first, and what to ask next."""
    ranked = {row.code: row for row in estimate.questions} if estimate else {}
    order = sorted(
        form.questions,
        key=lambda code: -ranked[code].narrows if code in ranked else 1.0,
    )
    useful = [row for row in ranked.values() if row.narrows > 0.005]
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
