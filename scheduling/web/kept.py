"""The visit kept for a caller, at the quote desk: until when, and letting it go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from scheduling.models import KeptSlot
from scheduling.services.offer_record import offer_shown, work_record
from scheduling.services.offers import Offer, Offers
from shop.access import DESK, MemberRequest, member_required
from shop.models import Operation, Shop
from shop.web.pages import page


def kept_slot(shop: Shop, given: str, now: datetime) -> KeptSlot | None:
    """Return the slot that a form names, while its time has not passed."""
    if not given.isdecimal():
        return None
    return KeptSlot.objects.of(shop).filter(pk=int(given), kept_until__gt=now).order_by().first()


def with_kept(
    offers: Offers, slot: KeptSlot | None, operations: Sequence[Operation]
) -> tuple[Offers, Offer | None]:
    """Put the kept visit before the others, as it was told, where it is for the same work."""
    if slot is None or work_record(operations) != slot.work:
        return offers, None
    kept = offer_shown(slot.offer)
    if kept.overtime:
        return replace(offers, overtime=kept), kept
    others = [offer for offer in offers.found if offer.key != kept.key]
    return replace(offers, found=[kept, *others]), kept


@member_required(DESK)
@require_safe
def desk_kept(request: MemberRequest, pk: int) -> HttpResponse:
    """Show until when a visit is kept, or that it is let go; asked for while the desk is open."""
    now = timezone.now()
    slot = kept_slot(request.member.shop, str(pk), now)
    return page(request, "desk/kept.html", {"kept": slot, "lapsed": slot is None, "now": now})
