"""One state of the quote desk: read from the fields, worked out, and kept as a draft."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import sha256
from typing import Any, Final
from uuid import UUID, uuid4

from django.http import QueryDict
from django.utils.translation import gettext as _

from estimating.catalogue_kept import catalogue_kept
from estimating.core.catalogue import Catalogue
from estimating.core.costing import Priced
from estimating.core.result import Estimate
from estimating.models import Inspection
from estimating.selectors import inspection_document, local_day, phone_document, terms_for
from estimating.services.estimates import estimate_make
from estimating.services.quotes import offered_price
from estimating.snapshot import operation_parts
from scheduling.models import CallDraft, KeptSlot
from scheduling.services.drafts import draft_keep
from scheduling.services.offers import Offer, Offers, offers_find
from scheduling.web.deskform import ANSWERS, DeskForm, filled, start_values
from scheduling.web.kept import kept_slot, with_kept
from shop.access import MemberRequest
from shop.callers import typed_apart
from shop.models import Customer, Operation, Vehicle
from shop.refusals import Conflict, Refused

# Where a service names a field of a record, and the desk has it under another name.
_FIELD_OF: Final = {"first_used_on": "age_years", **{kept: said for said, kept in ANSWERS.items()}}
_OF_VEHICLE: Final = ("vehicle", "body", "hardness", "age_years", "basis", *ANSWERS)
# Fields that say where a page stands, not what a caller said.
_OF_PAGE: Final = frozenset({"call", "turn", "page", "looked", "slot"})


@dataclass
class Call:
    """Who, about what, and everything worked out from it."""

    form: DeskForm
    key: UUID
    vehicle: Vehicle | None
    customer: Customer | None
    catalogue: Catalogue
    blank: Any
    draft: CallDraft | None = None
    estimate: Estimate | None = None
    offered: Priced | None = None
    operations: list[dict[str, Any]] = field(default_factory=list)
    offers: Offers | None = None
    problem: str = ""
    no_offer: str = ""
    not_kept: str = ""
    kept_at: datetime | None = None
    kept: KeptSlot | None = None
    kept_offer: Offer | None = None
    lapsed: bool = False

    def looks_for(self) -> str:
        """A digest of what visits are looked for; the same visits answer the same digest."""
        asked = [self.operations, str(self.form.said("earliest"))]
        return sha256(json.dumps(asked, sort_keys=True, default=str).encode()).hexdigest()[:32]


def call_of(
    request: MemberRequest, given: QueryDict, now: datetime, draft: CallDraft | None = None
) -> Call:
    """Who and what, from a link, from fields, or from a button that chose somebody."""
    shop = request.member.shop
    today = local_day(shop, now)
    catalogue = catalogue_kept(shop, today)
    taken = given.get("take") or given.get("vehicle", "")
    dropped = "drop" in given
    vehicle = customer = None
    inspections: list[Inspection] = []
    if not dropped and taken.isdecimal():
        vehicle, inspections = _vehicle(request, int(taken))
    owner = given.get("take_customer") or given.get("customer", "")
    if not dropped and vehicle is None and owner.isdecimal():
        customer = Customer.objects.of(shop).filter(pk=int(owner)).first()
    start = start_values(vehicle, inspections, today)
    data = filled(start, given)
    if given.get("take"):
        # What is known about the vehicle stands over what was guessed before.
        for name, value in start.items():
            if name in _OF_VEHICLE and value:
                data[name] = value
    if given.get("pick"):
        data["cleared"], data["aim"] = given["pick"], "cleared"
    if given.get("new"):
        _write_down(data)
    data["vehicle"] = str(vehicle.pk) if vehicle else ""
    data["customer"] = str(customer.pk) if customer else ""
    form = DeskForm(data, catalogue, inspections)
    form.is_valid()
    key = draft.key if draft else form.said("call") or uuid4()
    data["call"] = str(key)
    blank = start_values(None, [], today)
    slot = kept_slot(shop, given.get("kept", ""), now)
    return Call(
        form,
        key,
        vehicle,
        customer,
        catalogue,
        blank,
        draft,
        kept=slot,
        lapsed=bool(given.get("kept")) and slot is None,
    )


def _write_down(data: Any) -> None:
    """Make a new caller of what was typed into the box."""
    typed = typed_apart(data.get("q") or "")
    for name in ("name", "phone", "plate", "email"):
        if getattr(typed, name):
            data[name] = getattr(typed, name)
    data["q"] = ""


def _vehicle(request: MemberRequest, pk: int) -> tuple[Vehicle | None, list[Inspection]]:
    """A vehicle, and its inspections on which a quote can rest, newest first."""
    shop = request.member.shop
    rows = Inspection.objects.of(shop).filter(vehicle=pk, panels__isnull=False).distinct()
    found = list(rows.select_related("member", "gauge", "vehicle__customer", "shop")[:5])
    if found:
        return found[0].vehicle, found
    vehicles = Vehicle.objects.of(shop).select_related("customer")
    return vehicles.filter(pk=pk).first(), []


def said(call: Call) -> dict[str, list[str]]:
    """What stands in the fields, as it was typed."""
    data: Any = call.form.data
    told = {
        name: [str(value) for value in data.getlist(name)]
        for name in call.form.fields
        if name in data and name not in _OF_PAGE
    }
    return told | ({"kept": [str(call.kept.pk)]} if call.kept else {})


def keep(request: MemberRequest, call: Call, now: datetime, *, later: int = 0) -> None:
    """Keep the state of the fields; why it could not be kept is shown on the page.

    ``later`` is for what came of the same request after it was kept first.
    """
    form = said(call)
    begin = any(_told(values) != _told(call.blank.getlist(name)) for name, values in form.items())
    try:
        kept = draft_keep(
            member=request.member,
            key=call.key,
            form=form,
            title=title_of(call),
            turn=max(call.form.said("turn") or 1, 1) + later,
            page=call.form.said("page") or "",
            now=now,
            begin=begin,
        )
    except Conflict as refused:
        call.not_kept = text_of(refused)
    else:
        call.kept_at = now if kept else None


def _told(values: Sequence[Any]) -> list[str]:
    return [str(value).strip() for value in values if str(value).strip()]


def title_of(call: Call) -> str:
    """Who calls about what, as far as it is known."""
    form = call.form
    if call.vehicle is not None:
        return f"{call.vehicle.customer.name}, {call.vehicle.description}"
    person = call.customer.name if call.customer else form["name"].value()
    person = person or form["q"].value() or form["phone"].value() or form["plate"].value()
    return ", ".join(str(part) for part in (person, form["description"].value()) if part)


def work_out(request: MemberRequest, call: Call, now: datetime) -> None:
    """Estimate and price for the state of the desk; a refusal is kept to be shown."""
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
        call.problem = text_of(refused)
        return
    call.operations = operation_parts(call.estimate, float(shop.plan_quantile))
    _price(request, call)


def _price(request: MemberRequest, call: Call) -> None:
    """What is asked instead of the likely price, where something is."""
    form = call.form
    price, share = form.said("price"), form.discount_share()
    if call.estimate is None or (price is None and share is None):
        return
    try:
        call.offered = offered_price(
            made=call.estimate,
            price=price,
            terms=terms_for(request.member.shop),
            discount_share=share,
        )
    except Refused as refused:
        place(call, refused)


def find_offers(request: MemberRequest, call: Call, now: datetime) -> None:
    """Visits that are free for the work; why there is none is kept to be shown."""
    if call.estimate is None:
        return
    if not call.operations:
        call.no_offer = _("Nothing is chosen yet that takes time.")
        return
    shop, rows = request.member.shop, operations_of(call)
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
        call.no_offer = text_of(refused)


def operations_of(call: Call) -> list[Operation]:
    """The work as unsaved rows, none where there is no estimate."""
    return [Operation(**row) for row in call.operations]


def work_asked(
    request: MemberRequest, given: QueryDict, now: datetime
) -> tuple[list[Operation], datetime, KeptSlot | None]:
    """Work asked for by a state of the desk (none if refused), from when on, and what is kept."""
    call = call_of(request, given, now)
    work_out(request, call, now)
    return operations_of(call), call.form.not_before(request.member.shop, now), call.kept


def place(call: Call, refused: Refused) -> None:
    """Put each problem of a refusal at its field."""
    for name, texts in refused.by_field().items():
        name = _FIELD_OF.get(name, name)
        for text in texts:
            if name in call.form.fields:
                call.form.add_error(name, text)
            else:
                call.problem = " ".join(filter(None, (call.problem, text)))


def text_of(refused: Refused) -> str:
    """All that a refusal says, in one piece."""
    return " ".join(problem.message for problem in refused.problems)
