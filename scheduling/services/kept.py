"""Keep a visit for a caller who has not said yes, for some minutes; let it go."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from estimating.models import Quote
from scheduling.models import KeptSlot
from scheduling.services.again import tried_again
from scheduling.services.holds import holds_write, resources_lock
from scheduling.services.horizon import policy_of
from scheduling.services.offer_record import offer_of_record, offer_record, work_record
from scheduling.services.offers import Offer
from scheduling.services.settle import Wish, settle
from shop.models import Member, Operation, Shop
from shop.refusals import Conflict


@tried_again
def slot_keep(
    *,
    shop: Shop,
    member: Member,
    operations: Sequence[Operation],
    offer: Offer,
    now: datetime,
    said: str = "",
    quote: Quote | None = None,
    instead: KeptSlot | None = None,
) -> KeptSlot:
    """Keep ``offer`` for as long as the shop's policy says.

    Parameters
    ----------
    operations
        What the offer was found for.
    quote
        Whose visit it is; a slot kept for it before is let go.
    instead
        A slot that is let go in the same transaction: the caller changed their mind.

    Raises
    ------
    Refused
        Its drop-off has passed.
    SlotTaken
        The offer is no longer free: what has it, and what is free instead.
    """
    before = instead or (KeptSlot.objects.filter(quote=quote).first() if quote else None)
    wish = Wish(shop, operations, offer.arrives_at, now, ignoring=before)
    until = now + timedelta(minutes=policy_of(shop).keep_minutes)

    def write(chosen: Offer) -> KeptSlot:
        slot_give_up(slot=before, offer=chosen)
        slot = KeptSlot.objects.create(
            shop=shop,
            member=member,
            quote=quote,
            said=said,
            arrives_at=chosen.arrives_at,
            kept_at=now,
            kept_until=until,
            offer=offer_record(chosen),
            work=work_record(operations),
        )
        holds_write(holder=slot, held=chosen.holds, now=now)
        return slot

    return settle(wish, offer, write)


@tried_again
@transaction.atomic
def slot_release(*, slot: KeptSlot) -> bool:
    """Let a slot go; False where it was gone already."""
    return KeptSlot.objects.filter(pk=slot.pk).delete()[0] > 0


def slot_give_up(*, slot: KeptSlot | None, offer: Offer) -> None:
    """Inside a transaction that writes ``offer``: let go of what was kept until now.

    Race: between letting go and writing nobody may slip in. All resources of both are locked
    first, in the order in which everybody does.
    """
    if slot is None:
        return
    kept = slot.holds.values_list("resource_id", flat=True)
    resources_lock([*kept, *(held.resource.pk for held in offer.holds)])
    KeptSlot.objects.filter(pk=slot.pk).delete()


def slot_offer(*, slot: KeptSlot, operations: Sequence[Operation]) -> Offer:
    """Return the visit that is kept, to be booked as it was told.

    Raises
    ------
    Conflict
        It was kept for other work than ``operations``.
    """
    if work_record(operations) != slot.work:
        raise Conflict(
            _("The visit was kept for other work than is wanted now. Look for it again.")
        )
    return offer_of_record(slot.offer)
